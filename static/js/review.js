// The page of a review: pressing on the drawing pins the question below to a place.
import { drawingIn, mark, placeOf, shown } from "./tablet/pin.js";

const ask = document.getElementById("ask");
const svg = drawingIn(document.getElementById("pin-drawing"));
if (ask && svg) {
  const unit = ask.dataset.unit;
  document.getElementById("pin-how").hidden = false;
  svg.addEventListener("click", (event) => {
    const at = placeOf(svg, event);
    if (!at) return;
    ask.elements.x.value = shown(at.x, unit);
    ask.elements.z.value = shown(at.z, unit);
    ask.elements.line.value = "";
    ask.dataset.touched = "yes";
    if (![...ask.querySelectorAll("[name=face]")].some((f) => f.checked && f.value)) ask.querySelector("[name=face][value=L]").checked = true;
    mark(svg, at.x, at.z);
  });
}
