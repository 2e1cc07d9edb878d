// Puts what the phone knows into copies of the page's <template>s: as text, attributes or nodes, never as HTML.

/** A copy of a template. `fill` says by the names of its slots what becomes of them:
 *  words stand in it, nodes go into it, a function is called when it is tapped or sent, an object sets
 *  attributes (and `text`), true leaves it, and nothing takes it away. */
export function part(name, fill = {}) {
  const copy = document.getElementById(`t-${name}`).content.cloneNode(true);
  for (const [slot, value] of Object.entries(fill)) {
    for (const place of copy.querySelectorAll(`[data-slot="${slot}"]`)) put(place, value);
  }
  return copy;
}

export function weightFigures(parts) {
  return parts.flatMap(([figure, unit]) => {
    const span = document.createElement("span");
    span.className = "big-part";
    const number = document.createElement("b");
    const small = document.createElement("small");
    number.textContent = figure;
    small.textContent = unit;
    span.append(number, " ", small);
    return [span, " "];
  });
}

/** Says beside a field what is wrong with it, or takes that away. */
export function complain(form, name, words = "") {
  const place = document.getElementById(`${name}-error`);
  const field = form.elements[name];
  place.textContent = words;
  place.hidden = !words;
  field.closest(".field").toggleAttribute("data-invalid", Boolean(words));
  field.ariaInvalid = words ? "true" : null;
  field.setAttribute("aria-describedby", place.id);
  if (words) field.focus();
}

function put(place, value) {
  if (value === true) return;
  if (value === false || value === null || value === undefined) place.remove();
  else if (typeof value === "function") listen(place, value);
  else if (typeof value === "object" && !(value instanceof Node) && !Array.isArray(value)) set(place, value);
  else place.replaceChildren(...[value].flat());
}

function listen(place, called) {
  place.addEventListener(place.matches("form") ? "submit" : "click", (event) => {
    event.preventDefault();
    called(event);
  });
}

function set(place, { text, tapped, ...attributes }) {
  if (text !== undefined) place.replaceChildren(text);
  if (tapped) listen(place, tapped);
  for (const [name, value] of Object.entries(attributes)) place.setAttribute(name, value);
}
