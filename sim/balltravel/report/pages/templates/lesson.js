/* The page of a lesson: what is chosen, what is shown of it. All numbers and sentences are those of computed
   runs; this script chooses among them. player.js stands before it. */
const lesson = JSON.parse(document.getElementById("lesson").textContent);
const find = (selector, root) => (root || document).querySelector(selector);
const all = (selector, root) => [...(root || document).querySelectorAll(selector)];
const material = find("#material"), travel = find("#travel"), showButton = find("#show");
const scrub = find(".scrub"), toggle = find(".toggle"), event_lines = all(".lower .event");
const sections = all("template.views-of-travel"), tried = new Map();
const still = matchMedia("(prefers-reduced-motion: reduce)");
let player = null;

function setText(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

/* Bytes to numbers: the lowest value, the step, and how many steps each value lies above it. */
function unpacked([low, step, text], wide, count) {
  if (!text) return new Array(count).fill(low);
  const bytes = Uint8Array.from(atob(text), letter => letter.charCodeAt(0));
  return Array.from({length: count}, (_, k) =>
    low + step * (wide ? bytes[2 * k] + 256 * bytes[2 * k + 1] : bytes[k]));
}

function lowerOf(m, t) {
  const film = lesson.materials[m].film, moving = lesson.materials[m].runs[t].moving;
  if (!moving) return null;
  if (moving.lower) return moving.lower;
  const count = film.shown.length, up = {}, arrows = {};
  for (const [name, values] of Object.entries(moving.up)) up[name] = unpacked(values, true, count);
  for (const [check, values] of Object.entries(moving.arrows))
    arrows[check] = {at: unpacked(values.at, false, count), size: unpacked(values.size, false, count)};
  return moving.lower = {up, arrows, bubble: unpacked(moving.bubble, false, count)};
}

function draw(root, t) {
  if (root.dataset.travel === String(t)) return;
  root.dataset.travel = t;
  root.replaceChildren(sections[t].content.cloneNode(true));
}

/* The film of a material, with a stop for each sentence of the two lowers on show. */
function filmOf(m, travels) {
  const base = lesson.materials[m].film, shown = [...base.shown], stops = [];
  travels.forEach((t, lower) => {
    if (!lowerOf(m, t)) return;
    for (const [picture, place] of lesson.materials[m].runs[t].moving.stops)
      stops.push({picture, lower, place, said: lesson.sayings[place].said});
  });
  stops.sort((a, b) => a.picture - b.picture);
  const read = new Set();
  for (const stop of stops) {
    const key = `${stop.picture} ${stop.place}`;
    if (!read.has(key)) shown[stop.picture] += lesson.sayings[stop.place].ms;
    read.add(key);
  }
  return {shown, stops};
}

function scaleAt(m, k) {
  return lesson.materials[m].film.scale.findLast(([from]) => from <= k)[1];
}

function showBars(root, run) {
  for (const name of ["drawn", "back"]) {
    const [words, length] = run ? run[name] : ["?", 0];
    find(`.fill.${name}`, root).style.width = `${Math.min(length, 100)}%`;
    setText(find(`output.${name}`, root), words);
  }
}

/* What is on show: the chosen travel, and the best once it was asked for. */
function render(from) {
  const m = Number(material.value), t = Number(travel.value), now = lesson.materials[m];
  const shown = tried.has(m), best = shown ? now.best : null, wasPlaying = player?.playing;
  player?.pause();
  setText(find("#material-chosen"), now.label);
  setText(find("#travel-chosen"), lesson.travels[t].label);
  material.setAttribute("aria-valuetext", now.label);
  travel.setAttribute("aria-valuetext", `${lesson.travels[t].label}, ${lesson.travels[t].shims}`);
  for (const button of all(".steps button"))
    button.toggleAttribute("aria-current", Number(button.dataset.material) === m);
  for (const question of all(".question")) question.hidden = Number(question.dataset.material) !== m;
  showButton.hidden = shown;
  setText(find("#said"), shown ? saidOf(now, t) :
    `${lesson.travels[t].label}: ${lesson.travels[t].shims}. Which travel delivers most here? Predict, then show.`);
  find("#limit").hidden = ![...tried.keys()].some(tested => lesson.materials[tested].limit);
  document.body.classList.toggle("shown", shown);
  const roots = [find(".predicted"), find(".best")], travels = best === null ? [t] : [t, best];
  roots.forEach((root, lower) => {
    const chosen = travels[lower];
    setText(find(".travel", root), chosen === undefined ? "?" : lesson.travels[chosen].label);
    root.classList.toggle("unknown", chosen === undefined);
    showBars(root, shown && chosen !== undefined ? now.runs[chosen] : null);
    if (chosen !== undefined) draw(find(".views", root), chosen);
  });
  drawCurve();
  const film = filmOf(m, travels);
  scrub.max = film.shown.length - 1;
  player = filmPlayer(film, k => showPicture(m, travels, roots, film, k, shown), tellPlaying);
  player.to(shown ? from : 0);
  if (shown && wasPlaying) player.play();
}

function saidOf(now, t) {
  return [now.runs[t].said, now.runs[t].against, now.limit].filter(Boolean).join(" ");
}

function showPicture(m, travels, roots, film, k, shown) {
  travels.forEach((t, lower) => {
    const run = lowerOf(m, t);
    if (run) placeSection(roots[lower], run, k);
    const said = film.stops.filter(stop => stop.lower === lower);
    const last = said.findLast(stop => stop.picture <= k) || said[said.length - 1];
    setText(event_lines[lower], shown && last ? last.said : "");
    event_lines[lower].classList.toggle("now", Boolean(last) && last.picture === k);
  });
  if (travels.length < 2) setText(event_lines[1], "");
  scrub.value = k;
  scrub.setAttribute("aria-valuetext",
    `${Math.round(100 * lesson.materials[m].film.share[k])} % of the cycle, ${scaleAt(m, k)}`);
  setText(find(".scale"), scaleAt(m, k));
}

function tellPlaying() {
  setText(toggle, player?.playing ? "Pause" : "Play");
  for (const line of event_lines) line.setAttribute("aria-live", player?.playing ? "off" : "polite");
}

function drawCurve() {
  const points = [...tried.entries()].sort((a, b) => a[0] - b[0]), now = Number(material.value);
  const {x, y} = lesson.curve, marks = [];
  for (const [m, t] of points) {
    marks.push(`<rect class="yours${m === now ? " now" : ""}" x="${x[m] - 8}" y="${y[t] - 8}" width="16" height="16"/>`);
    if (lesson.materials[m].best !== null)
      marks.push(`<circle class="best${m === now ? " now" : ""}" cx="${x[m]}" cy="${y[lesson.materials[m].best]}" r="9"/>`);
  }
  const known = points.filter(([m]) => lesson.materials[m].best !== null);
  find(".chart.grows .points").innerHTML = marks.join("");
  find(".chart.grows .through").setAttribute("points",
    known.map(([m]) => `${x[m]},${y[lesson.materials[m].best]}`).join(" "));
  const beyond = find(".chart.grows .beyond");
  if (beyond) beyond.style.display = points.some(([m]) => lesson.materials[m].limit) ? "" : "none";
  find(".chart.grows").setAttribute("aria-label", "Best travel over viscosity: " + (known.map(([m]) =>
    `${lesson.materials[m].label}: ${lesson.travels[lesson.materials[m].best].label}`).join("; ") || "nothing tried yet"));
}

function choose(m) {
  player?.pause();
  material.value = m;
  if (tried.has(m)) travel.value = tried.get(m);
  render(0);
}

material.addEventListener("input", () => choose(Number(material.value)));
for (const button of all(".steps button"))
  button.addEventListener("click", () => choose(Number(button.dataset.material)));
document.addEventListener("keydown", event => {
  const step = all(".steps button")["123456789".indexOf(event.key)];
  if (!step || event.altKey || event.ctrlKey || event.metaKey) return;
  step.focus();
  step.click();
});
travel.addEventListener("input", () => render(player.k));
showButton.addEventListener("click", () => {
  tried.set(Number(material.value), Number(travel.value));
  render(0);
  toggle.focus({preventScroll: true});
  find(".lowers").scrollIntoView({block: innerWidth < 1100 ? "start" : "nearest"});
  if (still.matches) player.next(); else player.play();
});
scrub.addEventListener("input", () => {
  player.pause();
  player.to(Number(scrub.value));
});
toggle.addEventListener("click", () => player.toggle());
find(".previous").addEventListener("click", () => player.previous());
find(".next").addEventListener("click", () => player.next());
document.addEventListener("keydown", event => {
  if (event.key !== " " || !event.target.matches("body, input") || !document.body.classList.contains("shown")) return;
  event.preventDefault();
  player.toggle();
});
for (const answer of all(".question details"))
  answer.addEventListener("toggle", () => { if (answer.open) answer.scrollIntoView({block: "nearest"}); });

for (const figure of all(".stills figure")) {
  const {material: m, travel: t, picture} = figure.dataset, view = find(".view", figure);
  view.append(find(".close", sections[t].content).cloneNode(true));
  find("figcaption", view).remove();
  placeSection(figure, lowerOf(Number(m), Number(t)), Number(picture));
}
render(0);
