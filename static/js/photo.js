// The page of one photograph: pressing on the drawing says where it was taken.
import { drawingIn, mark, placeOf, shown } from "./tablet/pin.js";

const form = document.getElementById("pin-form");
const svg = drawingIn(document.getElementById("pin-drawing"));
if (form && svg) {
  const unit = form.dataset.unit;
  document.getElementById("pin-how").hidden = false;
  svg.addEventListener("click", (event) => {
    const at = placeOf(svg, event);
    if (!at) return;
    form.elements.x.value = shown(at.x, unit);
    form.elements.z.value = shown(at.z, unit);
    if (![...form.querySelectorAll("[name=face]")].some((f) => f.checked && f.value)) form.querySelector("[name=face][value=L]").checked = true;
    mark(svg, at.x, at.z);
  });
}
