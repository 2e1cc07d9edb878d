// Keep the screen awake on bench pages, marked data-wake-lock, for as long as they are in view.

async function stayAwake() {
  if (document.visibilityState !== "visible") return;
  // A phone that is low on battery refuses; the page works all the same.
  await navigator.wakeLock.request("screen").catch(() => {});
}

if (navigator.wakeLock && document.querySelector("[data-wake-lock]")) {
  document.addEventListener("visibilitychange", stayAwake);
  stayAwake();
}
