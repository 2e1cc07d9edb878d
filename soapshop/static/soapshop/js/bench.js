// At the bench: look again and again what another phone did, but only while this one is looked at.

function watch() {
  return document.getElementById("bench-watch");
}

document.addEventListener("htmx:beforeRequest", (event) => {
  if (event.target === watch() && document.visibilityState !== "visible") event.preventDefault();
});

document.addEventListener("visibilitychange", () => {
  if (document.visibilityState === "visible" && watch()) window.htmx.trigger(watch(), "look");
});
