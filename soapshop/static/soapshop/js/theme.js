// Change between light and dark at once; the form behind it works without this.

document.addEventListener("submit", (event) => {
  const form = event.target.closest("[data-theme-switch]");
  if (!form) return;
  event.preventDefault();
  const chosen = event.submitter.value;
  document.documentElement.dataset.theme = chosen;
  for (const button of document.querySelectorAll("[data-theme-switch] button")) {
    button.setAttribute("aria-pressed", String(button.value === chosen));
  }
  fetch(form.action, { method: "POST", body: new FormData(form, event.submitter), redirect: "manual" });
});
