// On "Connect a phone": says what this very browser can do here, and when its service worker is at work.

const able = {
  offline: "serviceWorker" in navigator,
  awake: "wakeLock" in navigator,
  install: "serviceWorker" in navigator,
};

function answer(item) {
  const yes = able[item.dataset.can];
  const words = item.querySelector("[data-answer]");
  words.textContent = yes ? words.dataset.yes : words.dataset.no;
  item.dataset.can = yes ? "yes" : "no";
}

// Without a secure address the browser hides these abilities; the page has said so already.
if (window.isSecureContext) {
  for (const item of document.querySelectorAll("[data-can]")) answer(item);
  navigator.serviceWorker?.ready.then(() => {
    const state = document.querySelector("[data-connected]");
    state.textContent = state.dataset.connected;
  });
}
