// After htmx has swapped a part of the page: move focus where the new part asks for it, and read it out.

const INVALID = "[aria-invalid='true']";
const FAILURES = {
  "htmx:sendError": "No answer from the workshop's computer. What you typed is still here; try once more.",
  "htmx:timeout": "No answer from the workshop's computer in time. What you typed is still here; try once more.",
  "htmx:responseError": "That did not work. What you typed is still here; try once more, or load the page again.",
};
const live = document.querySelector("[data-live]");

function within(part, selector) {
  return [...(part.matches(selector) ? [part] : []), ...part.querySelectorAll(selector)];
}

function say(words, { aloudOnly }) {
  live.textContent = words;
  live.classList.toggle("visually-hidden", aloudOnly);
}

document.addEventListener("htmx:load", ({ detail: { elt: part } }) => {
  if (part === document.body) return;
  const words = within(part, "[data-announce]").map((one) => one.dataset.announce || one.textContent.trim());
  if (words.length) say(words.join(". "), { aloudOnly: true });
  // Never take the focus from someone who is typing.
  if (document.activeElement?.matches("input, select, textarea")) return;
  (within(part, "[data-focus]")[0] ?? within(part, INVALID)[0])?.focus();
});

// What asks by itself, again and again, is [data-quiet].
document.addEventListener("htmx:beforeRequest", ({ target }) => {
  if (!target.matches("[data-quiet]")) live.classList.add("visually-hidden");
});
for (const [event, words] of Object.entries(FAILURES)) {
  document.addEventListener(event, ({ target }) => {
    if (!target.matches("[data-quiet]")) say(words, { aloudOnly: false });
  });
}

document.querySelector("main [data-focus]")?.focus();
