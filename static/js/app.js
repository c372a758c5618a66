// What every page does with scripts on; each page works without it.

// A form is sent once: a second press while the first is on its way does nothing.
document.addEventListener("submit", (event) => {
  const form = event.target;
  if (event.defaultPrevented || form.method === "get") return;
  if (form.dataset.sent) {
    event.preventDefault();
    return;
  }
  form.dataset.sent = "yes";
  for (const button of form.querySelectorAll("button[type=submit]")) button.setAttribute("aria-busy", "true");
});

// Coming back with the browser's own button shows the form as it was: let it be sent again.
addEventListener("pageshow", () => {
  for (const form of document.querySelectorAll("form[data-sent]")) {
    delete form.dataset.sent;
    for (const button of form.querySelectorAll("[aria-busy]")) button.removeAttribute("aria-busy");
  }
});

// After a form comes back with reasons, begin at the list of them.
document.getElementById("errors")?.focus();

// The folded index of sheets closes on Escape and keeps the focus.
document.addEventListener("keydown", (event) => {
  if (event.key !== "Escape") return;
  const open = event.target instanceof Element && event.target.closest("details[open]");
  if (!open) return;
  open.open = false;
  open.querySelector("summary")?.focus();
});

// The chance to leave with unsent words is asked about, where a form wants it.
addEventListener("beforeunload", (event) => {
  const dirty = [...document.querySelectorAll("form[data-guard]")].some((f) => f.dataset.touched && !f.dataset.sent);
  if (dirty) event.preventDefault();
});
document.addEventListener("input", (event) => {
  const form = event.target instanceof Element && event.target.closest("form[data-guard]");
  if (form) form.dataset.touched = "yes";
});
