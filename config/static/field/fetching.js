// One way to ask the server: never cached, never redirected to a login page, never waited for without end.
//
//   fetchJson(path, options?, timeoutMs?) -> Promise<{status, body, headers}>     body is null when it is no JSON
//   NoSignal       thrown when no answer came: no signal, a dropped connection, a server that is down, the timeout

export class NoSignal extends Error {}

export async function fetchJson(path, options = {}, timeoutMs = 10_000) {
  const answer = await reach(path, options, timeoutMs);
  const json = answer.headers.get("Content-Type")?.startsWith("application/json");
  try {
    return { status: answer.status, body: json ? await answer.json() : null, headers: answer.headers };
  } catch (error) {
    throw new NoSignal("The answer broke off.", { cause: error });
  }
}

async function reach(path, options, timeoutMs) {
  try {
    return await fetch(path, {
      cache: "no-store",
      redirect: "error",
      credentials: "same-origin",
      signal: AbortSignal.timeout(timeoutMs),
      ...options,
      headers: { Accept: "application/json", ...options.headers },
    });
  } catch (error) {
    throw new NoSignal("No answer came.", { cause: error });
  }
}
