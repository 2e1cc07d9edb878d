// Places in a photo: a tap sets the one that is asked for, arrow keys move it, typed figures move its mark.
// All is kept in the fields of the form, in per cent of the photo; without this the server does the same.

const form = document.querySelector("[data-places]");
const frame = form.querySelector("[data-photo]");
const photo = frame.querySelector("input");
const drawing = frame.querySelector("svg").viewBox.baseVal;
const asks = form.querySelector("[data-asked]");
const choices = [...form.elements.next];
const STEPS = { ArrowLeft: [-0.5, 0], ArrowRight: [0.5, 0], ArrowUp: [0, -0.5], ArrowDown: [0, 0.5] };

let last = null;

const fieldsOf = (name) => [0, 1].map((part) => form.elements[`${name}_${part}`]);
const figure = (field) => (field.value.trim() ? Number(field.value.replace(",", ".").replace("%", "")) : NaN);
const isPlace = (place) => place.every((each) => each >= 0 && each <= 100);
const placeOf = (name) => fieldsOf(name).map(figure);

function showMark(name) {
  const mark = frame.querySelector(`[data-mark="${name}"]`), place = placeOf(name);
  if (!isPlace(place)) return mark.removeAttribute("transform");
  const [x, y] = [place[0] * drawing.width / 100, place[1] * drawing.height / 100];
  const anchor = place[0] < 20 ? "start" : place[0] > 80 ? "end" : "middle";
  mark.setAttribute("transform", `translate(${x} ${y})`);
  mark.querySelector("text").setAttribute("class", `mark-${anchor}`);
}

function put(name, place) {
  const inside = place.map((each) => Math.min(Math.max(each, 0), 100));
  fieldsOf(name).forEach((field, part) => { field.value = String(Math.round(inside[part] * 100) / 100); });
  last = name;
  showMark(name);
}

function ask(choice) {
  choice.checked = true;
  asks.textContent = choice.dataset.asks;
}

photo.addEventListener("click", (event) => {
  if (event.detail === 0) return; // Enter in a field: the form is sent as it is
  event.preventDefault();
  const box = photo.getBoundingClientRect();
  const chosen = choices.find((choice) => choice.checked) ?? choices[0];
  put(chosen.value, [100 * (event.clientX - box.left) / box.width, 100 * (event.clientY - box.top) / box.height]);
  const next = choices.find((choice) => !isPlace(placeOf(choice.value)));
  if (next) ask(next);
  else asks.textContent = asks.dataset.done;
});

photo.addEventListener("keydown", (event) => {
  const step = STEPS[event.key], name = last ?? choices.find((choice) => choice.checked)?.value;
  if (!step || !name || !isPlace(placeOf(name))) return;
  event.preventDefault();
  put(name, placeOf(name).map((each, part) => each + step[part]));
});

form.addEventListener("input", ({ target }) => {
  const name = target.name.replace(/_[01]$/, "");
  if (name === target.name) return;
  last = name;
  showMark(name);
});

form.addEventListener("change", ({ target }) => {
  if (target.name !== "next") return;
  ask(target);
  if (isPlace(placeOf(target.value))) last = target.value;
});

frame.classList.add("photo-live");
