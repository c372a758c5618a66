// The entry of a survey: moving through the grid by keyboard, pasting from a
// spreadsheet, and what is left of the end shown while typing. The form works
// without all of it.
import { cellsOf, move, spread } from "./survey_grid.js";

const form = document.querySelector("form[data-survey]");
if (form) {
  keyboard(form);
  paste(form);
  live(form);
}

// keyboard moves with the arrows and with Enter, as in a spreadsheet.
function keyboard(form) {
  form.addEventListener("keydown", (event) => {
    const box = event.target;
    if (!(box instanceof HTMLInputElement) || !box.closest(".grid-entry") || event.altKey || event.ctrlKey || event.metaKey) return;
    const atStart = box.selectionStart === 0 && (box.selectionEnd === 0 || box.selectionEnd === box.value.length);
    const atEnd = box.selectionEnd === box.value.length && (box.selectionStart === box.selectionEnd || box.selectionStart === 0);
    let step;
    if (event.key === "Enter") step = event.shiftKey ? [-1, 0] : [1, 0];
    else if (event.key === "ArrowDown") step = [1, 0];
    else if (event.key === "ArrowUp") step = [-1, 0];
    else if (event.key === "ArrowLeft" && atStart) step = [0, -1];
    else if (event.key === "ArrowRight" && atEnd) step = [0, 1];
    if (!step) return;
    event.preventDefault();
    const next = move(cellsOf(box.closest("table")), box, step[0], step[1], event.key === "Enter");
    if (next) {
      next.focus();
      next.select();
    }
  });
  // Enter moves; it must not send the form from within a grid.
  form.addEventListener("keypress", (event) => {
    if (event.key === "Enter" && event.target.closest(".grid-entry")) event.preventDefault();
  });
  form.addEventListener("focusin", (event) => {
    if (event.target instanceof HTMLInputElement && event.target.closest(".grid-entry")) event.target.select();
  });
}

// paste spreads a block of values over the grid from the box it is pasted into. A
// block that does not fit goes to the list, where nothing is lost.
function paste(form) {
  form.addEventListener("paste", (event) => {
    const box = event.target;
    if (!(box instanceof HTMLInputElement) || !box.closest(".grid-entry")) return;
    const text = event.clipboardData?.getData("text/plain") ?? "";
    if (!/[\t\n]/.test(text.trim())) return;
    event.preventDefault();
    const list = form.querySelector("[name=points]");
    if (!spread(cellsOf(box.closest("table")), box, text) && list) {
      list.value = (list.value.trim() + "\n" + text.trim()).trim();
      const fold = list.closest("details");
      if (fold) fold.open = true;
      list.focus();
    }
    form.dispatchEvent(new Event("input", { bubbles: true }));
  });
}

// live asks the server what the findings leave of the end, a moment after the last
// stroke. The newest question wins; a refused or failed one leaves the answer before.
function live(form) {
  const out = document.getElementById("preview");
  if (!out) return;
  let timer = 0;
  let asked;
  const ask = async () => {
    asked?.abort();
    const mine = new AbortController();
    asked = mine;
    out.setAttribute("aria-busy", "true");
    try {
      const answer = await fetch(form.dataset.preview, { method: "POST", body: new URLSearchParams(new FormData(form)), signal: mine.signal });
      if (!answer.ok) throw new Error(`preview: ${answer.status}`);
      const page = new DOMParser().parseFromString(await answer.text(), "text/html");
      for (const part of page.querySelectorAll("[data-part]")) document.getElementById(part.dataset.part)?.replaceChildren(...part.childNodes);
      mark(form, out);
      out.dataset.shown = String(Number(out.dataset.shown ?? 0) + 1);
    } catch (error) {
      if (error.name !== "AbortError") out.dataset.failed = "yes";
    } finally {
      if (asked === mine) out.setAttribute("aria-busy", "false");
    }
  };
  form.addEventListener("input", () => {
    clearTimeout(timer);
    timer = setTimeout(ask, 300);
  });
}

// mark shows at the boxes which of them cannot be taken, as the answer says.
function mark(form, out) {
  const bad = new Map([...out.querySelectorAll("[data-field]")].map((li) => [li.dataset.field, li.dataset.why]));
  for (const box of form.querySelectorAll(".grid-entry input")) {
    const why = bad.get(box.name);
    box.toggleAttribute("aria-invalid", false);
    if (why) {
      box.setAttribute("aria-invalid", "true");
      box.title = why;
    } else {
      box.removeAttribute("title");
    }
    box.parentElement.classList.toggle("bad", Boolean(why));
  }
}
