// Where something is on the drawing of an end. The drawing says its own scale and
// where its origin lies; places are in mm from the girder end and above the bottom
// flange.
const NS = "http://www.w3.org/2000/svg";

export const drawingIn = (root) => root?.querySelector("svg[data-scale]");

// placeOf is the place that was pressed, null outside of the girder.
export function placeOf(svg, event) {
  const m = svg.getScreenCTM();
  if (!m) return null;
  const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(m.inverse());
  const { scale, originX, originZ, flip } = svg.dataset;
  const x = ((at.x - Number(originX)) * Number(flip)) / Number(scale);
  const z = (Number(originZ) - at.y) / Number(scale);
  return x < 0 || z < 0 ? null : { x, z };
}

// mark rings a place on the drawing; one at a time.
export function mark(svg, x, z) {
  svg.querySelector(".pin-new")?.remove();
  if (!Number.isFinite(x) || !Number.isFinite(z)) return;
  const { scale, originX, originZ, flip } = svg.dataset;
  const ring = document.createElementNS(NS, "circle");
  for (const [k, v] of Object.entries({ class: "pin-new", r: 12, cx: Number(originX) + Number(flip) * x * scale, cy: Number(originZ) - z * scale })) ring.setAttribute(k, v);
  svg.append(ring);
}

// shown is a distance in mm as its box takes it.
export const shown = (mm, unit) => (unit === "in" ? (mm / 25.4).toFixed(1) : mm.toFixed(0));
