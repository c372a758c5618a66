// Making elements without markup in texts.

// h makes an element. Properties that begin with "on" are listeners; others are
// attributes, left out for false and null.
export function h(tag, props = {}, ...children) {
  const e = document.createElement(tag);
  for (const [k, v] of Object.entries(props ?? {})) {
    if (k.startsWith("on")) e.addEventListener(k.slice(2), v);
    else if (v === true) e.setAttribute(k, "");
    else if (v !== false && v !== null && v !== undefined) e.setAttribute(k, v);
  }
  e.append(...children.flat(3).filter((c) => c !== null && c !== undefined && c !== false));
  return e;
}

export const button = (label, onclick, props = {}) => h("button", { type: "button", onclick, ...props }, label);
export const link = (label, href, props = {}) => h("a", { class: "button", href, ...props }, label);

const screen = document.getElementById("screen");

// show exchanges the screen and begins at its head.
export function show(title, ...children) {
  document.title = `${title} – Endcast`;
  screen.replaceChildren(...children.flat(3).filter(Boolean));
  screen.dataset.title = title;
}

// begin moves the reader to the head of a screen that was just opened.
export function begin() {
  scrollTo(0, 0);
  screen.focus({ preventScroll: true });
}

// moveFrom goes on to another screen once something is stored, unless its reader
// has left the screen it began on meanwhile.
export function moveFrom(was, to) {
  if (location.hash === was) location.hash = to;
}

// drawing takes a drawing of the server over.
export function drawing(svg) {
  const page = new DOMParser().parseFromString(svg, "text/html");
  for (const bad of page.querySelectorAll("script")) bad.remove();
  return h("div", { class: "t-drawing" }, ...page.body.childNodes);
}

export const sentence = (text) => (text ? text[0].toUpperCase() + text.slice(1) + (/[.!?]$/.test(text) ? "" : ".") : "");

// say tells something in words, for a screen reader as well.
export function say(text, kind = "done") {
  let bar = document.getElementById("t-say");
  if (!bar) {
    bar = h("div", { id: "t-say", role: "status" });
    document.querySelector(".t-head").append(bar);
  }
  bar.className = `t-say ${kind}`;
  bar.textContent = text;
}

// field is a labelled box.
export function field(label, name, props = {}, unit = "") {
  const box = props.rows ? h("textarea", { id: `f-${name}`, name, ...props }) : h("input", { id: `f-${name}`, name, autocomplete: "off", ...props });
  if (props.rows && props.value) box.textContent = props.value;
  return h("div", { class: "fld" }, h("label", { for: `f-${name}` }, label), unit ? h("div", { class: "box" }, box, h("span", { class: "unit" }, unit)) : box);
}

// choice is a row of large buttons of which one is taken.
export function choice(label, name, options, value) {
  return h("fieldset", { class: "tiles many" }, h("legend", {}, label), h("div", { class: "row" }, options.map((o) =>
    h("label", { class: "tick" }, h("input", { type: "radio", name, value: o.value, checked: o.value === value }), h("span", {}, o.label)))));
}

// dial is a choice of an hour of the clock, laid out as it is seen.
export const dial = (name, label, value) => h("fieldset", { class: "clock" }, h("legend", {}, label), h("div", { class: "dial" }, Array.from({ length: 12 }, (_, i) => i + 1).map((n) =>
  h("label", { class: `hour h${n}` }, h("input", { type: "radio", name, value: n, checked: String(n) === String(value ?? "") }), h("span", {}, String(n))))));

// tick is one line that is so or not.
export const tick = (label, name) => h("label", { class: "tick wide" }, h("input", { type: "checkbox", name, value: "yes" }), h("span", {}, label));

export const list = (items, cls = "bare-list") => h("ul", { class: cls }, items.map((x) => h("li", {}, x)));
