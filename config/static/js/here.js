// "It is where I stand": writes the device's position into the field beside it. Without it one types.

for (const here of document.querySelectorAll("[data-here]")) {
  const field = document.getElementById(here.dataset.here);
  const status = here.querySelector("[role=status]");
  here.hidden = !(field && "geolocation" in navigator);
  here.querySelector("button").addEventListener("click", () => {
    status.textContent = "Looking…";
    navigator.geolocation.getCurrentPosition(
      ({ coords }) => {
        field.value = `${coords.latitude.toFixed(6)}, ${coords.longitude.toFixed(6)}`;
        status.textContent = `Found, within ${Math.round(coords.accuracy)} m.`;
      },
      () => {
        status.textContent = "The device did not say where it is; describe the place in words.";
      },
      { enableHighAccuracy: true, timeout: 15000 },
    );
  });
}
