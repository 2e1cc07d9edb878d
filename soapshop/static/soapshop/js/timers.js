// Keep times such as "12 min since lye in" running. The server wrote them (batches/templatetags/bench.py).

const TIE = "\u00a0";
let ahead = 0; // milliseconds that this clock is ahead of the server's, which a page tells

export function span(milliseconds) {
  const minutes = Math.max(0, Math.floor(milliseconds / 60_000));
  if (minutes < 60) return `${minutes}${TIE}min`;
  const hours = Math.floor(minutes / 60);
  if (hours >= 48) return `${Math.floor(hours / 24)}${TIE}days`;
  return `${hours}${TIE}h ${String(minutes % 60).padStart(2, "0")}${TIE}min`;
}

function tick() {
  for (const timer of document.querySelectorAll("[data-since]")) {
    const words = span(Date.now() - ahead - Date.parse(timer.dataset.since));
    if (timer.textContent !== words) timer.textContent = words;
  }
}

function begin({ detail: { elt: part } }) {
  const told = part.matches("[data-now]") ? part : part.querySelector("[data-now]");
  if (told) ahead = Date.now() - Date.parse(told.dataset.now);
  tick();
}

begin({ detail: { elt: document.body } });
document.addEventListener("htmx:load", begin);
document.addEventListener("visibilitychange", tick);
setInterval(tick, 5_000);
