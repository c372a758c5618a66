// Photographs: the original is kept on the tablet until the server has confirmed its
// hash. What cannot be taken is said at once, not at the end of the shift.
import { choice, drawing, field, h, link, say, show } from "./dom.js";
import { drawingIn, mark, placeOf, shown } from "./pin.js";
import { head } from "./end.js";
import * as outbox from "./outbox.js";
import * as store from "./store.js";
import { kindOf } from "./rules.js";

const hex = (buffer) => [...new Uint8Array(buffer)].map((b) => b.toString(16).padStart(2, "0")).join("");

export async function take(end) {
  const p = await store.get("meta", "packet");
  const why = h("p", { class: "why", role: "alert", id: "why" });
  const done = h("div", { class: "prints", id: "taken" });
  const value = (name) => form.elements[name].value.trim();
  const form = h("form", { class: "field-form", onsubmit: (e) => e.preventDefault() },
    field("What it shows", "caption"),
    choice("Belongs to", "subject", [{ value: "", label: "The end" }, { value: "cleaning", label: "Cleaning" }, { value: "collar", label: "Collar" }, { value: end.step_code, label: `Step: ${end.step}` }].filter((o) => o.value !== undefined), ""),
    choice("Face", "face", [{ value: "", label: "Neither" }, { value: "L", label: "Left" }, { value: "R", label: "Right" }], ""),
    h("div", { class: "pair" }, field("Pin: from the girder end, x", "x", { inputmode: "decimal" }, p.unit), field("Pin: above the bottom flange, z", "z", { inputmode: "decimal" }, p.unit)),
    h("div", { class: "fld" }, h("label", { for: "f-photo" }, `Photographs, JPEG, PNG or WebP, up to ${p.photo_mb} MB each`), h("input", { id: "f-photo", type: "file", accept: "image/jpeg,image/png,image/webp", multiple: true, onchange: add })), why, done,
    h("p", { class: "t-ways" }, link("Done", `#/end/${end.name}`)));
  async function add(ev) {
    const files = [...ev.target.files];
    why.textContent = "";
    for (const file of files) {
      const mb = file.size / 1048576;
      if (mb > p.photo_mb) { why.textContent += `${file.name} has ${mb.toFixed(1)} MB; at most ${p.photo_mb} MB are taken. Choose a smaller size in the camera. `; continue; }
      const kind = kindOf(new Uint8Array(await file.slice(0, 16).arrayBuffer()));
      if (!kind) { why.textContent += `${file.name} is no JPEG, PNG or WebP picture. `; continue; }
      // Read now: a file that the camera deletes later is kept all the same.
      const bytes = await file.arrayBuffer();
      const sha256 = hex(await crypto.subtle.digest("SHA-256", bytes));
      const blob = new Blob([bytes], { type: kind });
      const body = { sha256, size: blob.size, name: file.name };
      for (const name of ["caption", "subject", "face"]) if (value(name)) body[name] = value(name);
      if (value("x") && value("z")) { body.x = `${value("x")} ${p.unit}`; body.z = `${value("z")} ${p.unit}`; }
      try {
        await outbox.add({ kind: "photo", end, body, blob, label: `photograph${body.caption ? `, ${body.caption}` : ""}` });
      } catch (error) {
        why.textContent += error.name === "QuotaExceededError" ? "There is no room left on this tablet for the picture: send first. " : `${file.name} could not be kept: ${error.message} `;
        continue;
      }
      const url = URL.createObjectURL(blob);
      done.append(h("img", { src: url, alt: body.caption || `Photograph of ${end.name}`, width: 160, height: 120 }));
    }
    ev.target.value = "";
    if (done.children.length) say(`${done.children.length} photographs kept on this tablet.`);
    outbox.send();
  }
  // Pressing on the drawing pins the pictures that are taken next; the two boxes do the same.
  const plan = end.drawing && drawing(end.drawing);
  const svg = drawingIn(plan);
  svg?.addEventListener("click", (ev) => {
    const at = placeOf(svg, ev);
    if (!at) return;
    form.elements.x.value = shown(at.x, p.unit);
    form.elements.z.value = shown(at.z, p.unit);
    if (!value("face")) form.querySelector("[name=face][value=L]").checked = true;
    mark(svg, at.x, at.z);
    say(`Pinned at x ${form.elements.x.value}, z ${form.elements.z.value} ${p.unit}.`);
  });
  show("Photograph", head(end, "Photograph"), form, svg && [h("h2", {}, "Where"), h("p", {}, "Choose the face and press on the drawing, or type the two distances; then take the pictures."), plan]);
}
