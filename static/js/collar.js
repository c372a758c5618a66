// The form of one stud: only what goes with the chosen outcome is in sight, and
// what may be done about a gap is asked of the server as it is typed.
const form = document.getElementById("collar");
if (form) {
  const parts = [...form.querySelectorAll("[data-for]")];
  const chosen = () => form.querySelector("[name=outcome]:checked")?.value ?? "";

  const sort = () => {
    const outcome = chosen();
    for (const part of parts) {
      // Before an outcome is chosen, a gap that is still open shows what may be done about it.
      const open = outcome === "" && form.dataset.gap === "open" && part.contains(document.getElementById("repairs"));
      const wanted = open || part.dataset.for.split(" ").includes(outcome);
      part.hidden = !wanted;
      for (const box of part.querySelectorAll("input, textarea")) box.disabled = !wanted;
    }
  };

  let asked = 0;
  const ask = async () => {
    const box = (name) => form.querySelector(`[name=${name}]`);
    const clock = form.querySelector("[name=gap_clock]:checked")?.value ?? "";
    const query = new URLSearchParams({ gap_clock: clock, gap_length: box("gap_length").value });
    const mine = ++asked;
    try {
      const answer = await fetch(`${form.getAttribute("action")}?${query}`, { headers: { Accept: "text/html" } });
      if (!answer.ok || mine !== asked) return;
      const page = new DOMParser().parseFromString(await answer.text(), "text/html");
      const fresh = page.getElementById("repairs");
      if (fresh) document.getElementById("repairs").replaceChildren(...fresh.childNodes);
    } catch {
      // Without a connection the rules stay as they were shown; recording does not need them.
    }
  };

  let wait;
  form.addEventListener("change", (event) => {
    if (event.target.name === "outcome") sort();
    if (event.target.name === "gap_clock") ask();
  });
  form.addEventListener("input", (event) => {
    if (event.target.name !== "gap_length") return;
    clearTimeout(wait);
    wait = setTimeout(ask, 300);
  });
  form.querySelector("[data-show]")?.remove();
  sort();
}
