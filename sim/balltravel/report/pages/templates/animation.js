/* The page of an animation: what it shows of each picture beside the sections, and its controls. */
const run = JSON.parse(document.getElementById("run").textContent);
const find = (selector, root) => (root || document).querySelector(selector);
const lowers = [...document.querySelectorAll(".lower")];
const scrub = find(".scrub"), toggle = find(".toggle"), moments = [...document.querySelectorAll(".moments button")];

function setText(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

function lastSaid(number, k) {
  const said = run.film.stops.filter(stop => stop.lower === number);
  return (said.findLast(stop => stop.picture <= k) || said[said.length - 1]);
}

function showBar(root, name, percent) {
  find(`.fill.${name}`, root).style.width = `${Math.max(0, Math.min(percent, 100))}%`;
  setText(find(`output.${name}`, root), `${percent.toFixed(1)} %`);
}

function showPicture(k) {
  lowers.forEach((root, number) => {
    const lower = run.lowers[number], stop = lastSaid(number, k);
    placeSection(root, lower, k);
    showBar(root, "drawn", lower.drawn[k]);
    showBar(root, "back", lower.back[k]);
    const said = find(".said", root);
    setText(said, stop.said);
    said.classList.toggle("now", stop.picture === k);
  });
  const time = `${run.lowers[0].time[k].toFixed(3)} s of ${run.periods[0].toFixed(2)} s`;
  setText(find(".clock .time"), time);
  setText(find(".clock .scale"), run.scale[k]);
  find(".cursor").style.left = `${100 * k / (run.film.shown.length - 1)}%`;
  scrub.value = k;
  scrub.setAttribute("aria-valuetext", `${time}, ${run.scale[k]}`);
  for (const button of moments)
    if (Number(button.dataset.picture) === k) button.setAttribute("aria-current", "true");
    else button.removeAttribute("aria-current");
}

const player = filmPlayer(run.film, showPicture, () => setText(toggle, player.playing ? "Pause" : "Play"));
scrub.addEventListener("input", () => {
  player.pause();
  player.to(Number(scrub.value));
});
toggle.addEventListener("click", player.toggle);
find(".previous").addEventListener("click", player.previous);
find(".next").addEventListener("click", player.next);
for (const button of moments)
  button.addEventListener("click", () => {
    player.pause();
    player.to(Number(button.dataset.picture));
  });
listenToKeys(player);
if (!matchMedia("(prefers-reduced-motion: reduce)").matches) player.play();
