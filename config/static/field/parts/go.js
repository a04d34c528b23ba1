// To another screen of the page.
//
//   go(path, {replace}?)      "/tree/12"; replace: true leaves no way back to the screen before

export function go(path, { replace = false } = {}) {
  if (replace) location.replace(`#${path}`);
  else location.hash = path;
}
