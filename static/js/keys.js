// Keys of a page: each element with data-key is reached by one letter. The page lists
// them in sight. Nothing that is typed is taken, nor any key with a modifier, and the keys
// can be turned off; that is remembered in this browser.
const list = document.querySelector("[data-keys]");
const button = list?.querySelector("button");
const OFF = "endcast-keys-off";
let pressed = null;
const off = () => localStorage.getItem(OFF) === "yes";

const typed = (target) =>
  target instanceof Element && (target.closest("textarea, select, [contenteditable]") || (target.matches("input") && !target.matches("[type=radio], [type=checkbox]")));

function reach(to) {
  if (to.matches("a[href]")) return to.click();
  const box = to.hasAttribute("data-key-into") ? to.querySelector("input:not([type=hidden]), textarea, select") : null;
  const at = box ?? to;
  if (!box && !to.hasAttribute("tabindex")) to.tabIndex = -1;
  at.focus();
  at.scrollIntoView({ block: box ? "center" : "start" });
}

// step moves through the rows of a list, each by its first link or box.
function step(by) {
  const rows = [...document.querySelectorAll("[data-row]")];
  const now = rows.findIndex((row) => row.contains(document.activeElement));
  const row = rows[now < 0 ? (by > 0 ? 0 : rows.length - 1) : Math.min(Math.max(now + by, 0), rows.length - 1)];
  row?.querySelector("a[href], input:not([type=hidden])")?.focus();
  row?.scrollIntoView({ block: "nearest" });
}

function show() {
  button.textContent = off() ? "Turn the keys on" : "Turn the keys off";
  list.classList.toggle("off", off());
}

if (list) {
  for (const to of document.querySelectorAll("[data-key]")) to.setAttribute("aria-keyshortcuts", to.dataset.key);
  list.hidden = false;
  show();
  button.addEventListener("click", () => {
    if (off()) localStorage.removeItem(OFF);
    else localStorage.setItem(OFF, "yes");
    show();
  });
  document.addEventListener("keydown", (event) => {
    if (event.defaultPrevented || event.isComposing || event.ctrlKey || event.altKey || event.metaKey || typed(event.target) || off()) return;
    const to = event.key === "?" ? list : document.querySelector(`[data-key="${CSS.escape(event.key)}"]`);
    const rows = document.querySelector("[data-row]");
    if (to) pressed = to;
    else if (rows && event.key === "j") step(1);
    else if (rows && event.key === "k") step(-1);
    else return;
    event.preventDefault();
  });
  // Reached when the key comes up, so that its letter is not typed into what it reaches.
  document.addEventListener("keyup", () => {
    if (pressed) reach(pressed);
    pressed = null;
  });
}
