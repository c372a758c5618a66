// The form of a pour is checked against the design basis while it is filled. Without
// scripts the button "Check what is typed" does the same.
const form = document.getElementById("pour");
const checks = document.getElementById("checks");
let timer = 0;
let running = null;

async function check() {
  running?.abort();
  running = new AbortController();
  try {
    const answer = await fetch(form.dataset.preview, { method: "POST", body: new URLSearchParams(new FormData(form)), signal: running.signal });
    if (!answer.ok || answer.redirected) return; // the button still tells why
    checks.innerHTML = await answer.text();
    checks.dataset.checked = String(Number(checks.dataset.checked ?? 0) + 1);
  } catch {
    // No connection, or a newer check is under way: what stands there stays.
  }
}

form?.addEventListener("change", () => {
  clearTimeout(timer);
  timer = setTimeout(check, 150);
});
