// The desk of a design: studs are moved in the drawing by pointer, keys or
// buttons, and every edit is sent to the server, which draws and checks anew.
// No number is judged here; a move only changes what stands in two fields.

const desk = document.getElementById("design");
const tools = document.getElementById("design-tools");
const status = document.getElementById("design-status");
const form = () => document.getElementById("design-form");
const live = () => document.getElementById("design-live"); // the drawing
const board = () => document.getElementById("design-board");

if (desk && tools) {
  tools.hidden = false;
  start();
}

function start() {
  const perUnit = Number(tools.dataset.perUnit); // mm in one of the reader's units
  const pick = document.getElementById("tool-stud");
  let timer = 0;
  let asked = 0; // number of the latest request; older answers are dropped
  let controller = null;

  // --- studs and the rows of the table ---

  const rows = () => [...form().querySelectorAll("tr[data-stud]")];
  const field = (row, column) => row.querySelector(`[name="stud-${row.dataset.stud}-${column}"]`);
  const rowOf = (mark) => rows().find((row) => field(row, "mark").value.trim() === mark);
  const drawn = (mark) => [...live().querySelectorAll(".stud[data-mark]")].find((g) => g.dataset.mark === mark && !g.closest(".behind"));

  // The studs that move with one: its mate on the other face, its row, its column.
  function mates(mark) {
    const row = rowOf(mark);
    if (!row) return [];
    const both = document.getElementById("tool-both").checked;
    const wholeRow = document.getElementById("tool-row").checked;
    const wholeCol = document.getElementById("tool-col").checked;
    const of = (r) => ({ row: field(r, "row").value, col: field(r, "col").value, face: field(r, "face").value });
    const me = of(row);
    return rows().filter((r) => {
      const it = of(r);
      if (!both && it.face !== me.face) return false;
      if (r === row) return true;
      const sameRow = it.row === me.row;
      const sameCol = it.col === me.col;
      return (wholeRow && sameRow) || (wholeCol && sameCol) || (sameRow && sameCol);
    }).map((r) => field(r, "mark").value.trim());
  }

  // --- drawing and numbers ---

  const text = (v) => String(Number(v.toFixed(4)));

  // Move studs by a distance in mm, from where they stand in the drawing.
  function shift(marks, dx, dz, snap) {
    for (const mark of marks) {
      const g = drawn(mark);
      const row = rowOf(mark);
      if (!g || !row) continue;
      const to = (mm, by) => {
        const v = (mm + by) / perUnit;
        return snap ? Math.round(v / snap) * snap : v;
      };
      if (dx) field(row, "x").value = text(to(Number(g.dataset.x), dx));
      if (dz) field(row, "z").value = text(to(Number(g.dataset.z), dz));
    }
    form().dataset.touched = "yes";
  }

  const step = () => Number(document.getElementById("tool-step").value);

  function nudge(mark, right, up) {
    const flip = Number(live().querySelector("svg[data-flip]")?.dataset.flip ?? 1);
    const by = step() * perUnit;
    const marks = mates(mark);
    // Several presses before the answer comes add up: the drawing remembers them.
    for (const m of marks) {
      const g = drawn(m);
      if (!g) continue;
      shift([m], right * flip * by, up * by, 0);
      g.dataset.x = Number(g.dataset.x) + right * flip * by;
      g.dataset.z = Number(g.dataset.z) + up * by;
      offset(g, right * by, up * by);
    }
    const row = rowOf(mark);
    if (row) say(`Stud ${mark}: x ${field(row, "x").value}, z ${field(row, "z").value} ${tools.dataset.unit}`);
    later(350);
  }

  // Show a stud off its place until the server has drawn it there.
  function offset(g, right, up) {
    const scale = Number(g.ownerSVGElement.dataset.scale);
    const was = (g.dataset.off ?? "0 0").split(" ").map(Number);
    const now = [was[0] + right * scale, was[1] - up * scale];
    g.dataset.off = now.join(" ");
    const at = (g.dataset.at ??= g.getAttribute("transform") ?? "");
    g.setAttribute("transform", `translate(${now[0]} ${now[1]}) ${at}`);
  }

  function say(words) {
    status.textContent = words;
  }

  // --- asking the server ---

  function later(ms) {
    clearTimeout(timer);
    timer = setTimeout(() => ask(null), ms);
  }

  async function ask(button) {
    clearTimeout(timer);
    controller?.abort();
    controller = new AbortController();
    const mine = ++asked;
    const f = form();
    const body = new URLSearchParams(new FormData(f));
    if (button) body.set("do", button.value);
    board().setAttribute("aria-busy", "true");
    try {
      const answer = await fetch(f.dataset.preview, { method: "POST", body, signal: controller.signal, headers: { "X-Fragment": "1" } });
      if (answer.status !== 200 && answer.status !== 422) throw new Error(String(answer.status));
      const page = new DOMParser().parseFromString(await answer.text(), "text/html");
      if (mine !== asked) return;
      take(page, button);
    } catch (err) {
      if (err.name === "AbortError" || mine !== asked) return;
      board().removeAttribute("aria-busy");
      say("The preview did not arrive. What you typed is kept; try Preview again.");
    }
  }

  function take(page, button) {
    const focused = document.activeElement?.closest?.(".stud[data-mark]")?.dataset.mark;
    const swap = (id) => {
      const fresh = page.getElementById(id);
      if (fresh) document.getElementById(id).replaceWith(document.adoptNode(fresh));
    };
    swap("design-live");
    swap("design-checks");
    board().removeAttribute("aria-busy");
    if (button) {
      swap("design-said");
      swap("design-fields");
      form().dataset.touched = "yes";
      document.getElementById("errors")?.focus();
    }
    list();
    dress();
    if (focused) drawn(focused)?.focus({ preventScroll: true });
    if (button) land(button.value);
    say(document.getElementById("design-checks").dataset.spoken ?? "");
  }

  // Put the focus where the button that is gone would lead.
  function land(what) {
    if (document.activeElement && document.activeElement !== document.body) return;
    const all = rows();
    if (what === "add" && all.length) return field(all[all.length - 1], "mark").focus();
    if (what.startsWith("drop-")) return (form().querySelector('button[value="add"]') ?? form()).focus();
    form().querySelector(`button[value="${what}"]:not(.sr)`)?.focus({ preventScroll: true });
  }

  // --- the drawing as a control ---

  function dress() {
    const svg = live().querySelector("svg[data-scale]");
    if (!svg) return;
    // Studs are controls now, so that the drawing is no longer one picture.
    svg.setAttribute("role", "group");
    const group = svg.querySelector("g.studs");
    group?.setAttribute("role", "application");
    group?.setAttribute("aria-label", "Studs: the arrow keys move the one in focus, Page Up and Page Down choose another");
    for (const g of svg.querySelectorAll("g.studs > .stud")) {
      g.setAttribute("role", "button");
      g.setAttribute("aria-roledescription", "stud");
      const title = g.querySelector("title");
      g.setAttribute("aria-label", title?.textContent ?? g.dataset.mark);
      title?.remove(); // the label tells it, and a tip under the pointer would hide the next stud
      g.setAttribute("tabindex", "-1");
      for (const t of g.querySelectorAll("text")) t.setAttribute("aria-hidden", "true");
      const grab = document.createElementNS("http://www.w3.org/2000/svg", "circle");
      grab.setAttribute("class", "grab");
      grab.setAttribute("r", "14");
      g.append(grab);
    }
    choose(pick.value);
  }

  function list() {
    const was = pick.value;
    const marks = rows().map((r) => field(r, "mark").value.trim()).filter(Boolean);
    pick.replaceChildren(...marks.map((m) => new Option(m, m)));
    if (marks.includes(was)) pick.value = was;
    tools.classList.toggle("empty", marks.length === 0);
  }

  function choose(mark) {
    pick.value = mark;
    for (const g of live().querySelectorAll("g.studs > .stud")) {
      const on = g.dataset.mark === mark;
      g.setAttribute("tabindex", on ? "0" : "-1");
      g.classList.toggle("chosen", on);
    }
    for (const r of rows()) r.classList.toggle("chosen", field(r, "mark").value.trim() === mark);
  }

  function neighbor(by) {
    const all = [...pick.options];
    if (!all.length) return;
    const at = Math.max(0, pick.selectedIndex);
    const next = all[(at + by + all.length) % all.length].value;
    choose(next);
    drawn(next)?.focus({ preventScroll: true });
  }

  const moves = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };

  desk.addEventListener("keydown", (event) => {
    const g = event.target instanceof Element && event.target.closest("g.studs > .stud");
    if (!g || event.ctrlKey || event.metaKey || event.altKey) return;
    if (moves[event.key]) {
      event.preventDefault();
      nudge(g.dataset.mark, ...moves[event.key]);
    } else if (event.key === "PageDown" || event.key === "PageUp") {
      event.preventDefault();
      neighbor(event.key === "PageDown" ? 1 : -1);
    }
  });

  desk.addEventListener("focusin", (event) => {
    const g = event.target instanceof Element && event.target.closest("g.studs > .stud");
    if (g) return choose(g.dataset.mark);
    const row = event.target instanceof Element && event.target.closest("tr[data-stud]");
    if (row) choose(field(row, "mark").value.trim());
  });

  desk.addEventListener("pointerdown", (event) => {
    const g = event.target instanceof Element && event.target.closest("g.studs > .stud");
    if (!g || event.button !== 0) return;
    event.preventDefault();
    g.focus({ preventScroll: true });
    choose(g.dataset.mark);
    const svg = g.ownerSVGElement;
    const scale = Number(svg.dataset.scale); // pixels of the drawing for one mm
    const flip = Number(svg.dataset.flip ?? 1);
    const marks = mates(g.dataset.mark);
    const toDrawing = svg.getScreenCTM().inverse();
    const at = (e) => new DOMPoint(e.clientX, e.clientY).matrixTransform(toDrawing);
    const from = at(event);
    let dx = 0;
    let dz = 0;
    g.setPointerCapture(event.pointerId);
    const move = (e) => {
      const p = at(e);
      const snap = step() * perUnit;
      dx = Math.round(((p.x - from.x) / scale) * flip / snap) * snap;
      dz = Math.round((from.y - p.y) / scale / snap) * snap;
      for (const m of marks) {
        const other = drawn(m);
        if (!other) continue;
        other.dataset.off = "0 0";
        offset(other, dx * flip, dz);
      }
    };
    const end = (e) => {
      g.removeEventListener("pointermove", move);
      g.removeEventListener("pointerup", end);
      g.removeEventListener("pointercancel", end);
      if (e.type === "pointercancel") dx = dz = 0;
      if (dx || dz) {
        shift(marks, dx, dz, 0);
        ask(null);
      } else {
        for (const m of marks) {
          const other = drawn(m);
          if (other) offset(other, 0, 0);
        }
      }
    };
    g.addEventListener("pointermove", move);
    g.addEventListener("pointerup", end);
    g.addEventListener("pointercancel", end);
  });

  tools.addEventListener("click", (event) => {
    const button = event.target instanceof Element && event.target.closest("[data-move]");
    if (button && pick.value) nudge(pick.value, ...button.dataset.move.split(" ").map(Number));
  });
  pick.addEventListener("change", () => choose(pick.value));

  // --- the fields ---

  desk.addEventListener("input", (event) => {
    if (!event.target.closest?.("#design-form") || event.target.name === "note" || event.target.name?.startsWith("pattern-")) return;
    later(500);
  });
  desk.addEventListener("change", (event) => {
    if (event.target.closest?.("#design-form") && event.target.name?.endsWith("-mark")) list();
  });
  desk.addEventListener("submit", (event) => {
    const button = event.submitter;
    if (!button?.formAction || button.formAction !== new URL(form().dataset.preview, location.href).href) {
      clearTimeout(timer); // the page is on its way out
      return;
    }
    event.preventDefault();
    ask(button);
  });

  list();
  dress();
}
