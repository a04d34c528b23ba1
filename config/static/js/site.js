// Small comforts; every page works without them.

// An open account menu closes on Escape and on a click beside it.
const menus = () => document.querySelectorAll("details.account[open]");

document.addEventListener("keydown", (event) => {
  if (event.key !== "Escape") return;
  for (const menu of menus()) {
    menu.open = false;
    menu.querySelector("summary").focus();
  }
});

document.addEventListener("click", (event) => {
  for (const menu of menus()) if (!menu.contains(event.target)) menu.open = false;
  if (event.target.closest("[data-print]")) window.print();
});
