/* Places what moves in sections of a lower, by the data of a run at chosen times. No physics: every number
   comes from the run; this script only sets the attributes of SVG elements and keeps the clock of a film.

   A page includes it in its script, before its own code, and section.css in its style. The data are those of
   report/pages/player.py, put into the page by jinja2's filter tojson, which escapes what ends a script:

   lower   of one run, arrays with an entry for each picture:
             up: {"piston": [mm], "inlet-ball": [mm], "piston-ball": [mm]}   above where it is drawn
             bubble: [mm]                                                    radius of the void's bubbles
             arrows: {"inlet": {"at": [mm], "size": [-1 to 1]}, "piston": ...} along the way; below 0: back
   film    shown: [ms] how long each picture stays; stops: [{picture, lower, said}] in order

   placeSection(root, lower, k)   puts everything in the SVG sections within the element root where picture k
                                  has it. Sections are made by section_svg(..., marks=True).
   filmPlayer(film, show, told)   plays pictures: show(k) is called for each picture, told() when it starts or
                                  stops playing. Returns an object with
                                    k, playing          the picture on show; whether the film runs
                                    to(k), play(), pause(), toggle(), next(), previous()
                                  next and previous go to the neighbouring moment of the film.
   listenToKeys(player)           space plays and pauses, arrow keys left and right go from moment to moment,
                                  wherever the focus is, but in a field for text.
*/
"use strict";

function placeSection(root, lower, k) {
  for (const group of root.querySelectorAll("svg.section g[data-moves]")) {
    const up = lower.up[group.dataset.moves];
    if (up) group.setAttribute("transform", `translate(0 ${-up[k]})`);
  }
  for (const group of root.querySelectorAll("svg.section g[data-bubbles]")) placeBubbles(group, lower, k);
  for (const group of root.querySelectorAll("svg.section g[data-arrows]")) placeArrows(group, lower, k);
}

function placeBubbles(group, lower, k) {
  const bottom = Number(group.dataset.bottom);
  const high = Number(group.dataset.top) + lower.up.piston[k] - bottom;
  group.style.display = lower.bubble[k] > 0 ? "" : "none";
  if (!(lower.bubble[k] > 0)) return;
  for (const bubble of group.children) {
    bubble.setAttribute("cy", -(bottom + Number(bubble.dataset.height) * high));
    bubble.setAttribute("r", lower.bubble[k]);
  }
}

function placeArrows(group, lower, k) {
  const flow = lower.arrows[group.dataset.arrows];
  const way = group.querySelector(".way"), sides = group.querySelectorAll("g");
  const size = Math.abs(flow.size[k]), back = flow.size[k] < 0;
  group.classList.toggle("back", back);
  for (const side of sides) side.style.display = size < 0.05 ? "none" : "";
  if (size < 0.05) return;
  const length = way.getTotalLength(), count = sides[0].children.length;
  for (let n = 0; n < count; n++) {
    const at = Math.min(flow.at[k] + n * length / count, length);
    const here = way.getPointAtLength(at);
    const behind = way.getPointAtLength(Math.max(at - 0.1, 0)), ahead = way.getPointAtLength(at + 0.1);
    const turn = Math.atan2(ahead.y - behind.y, ahead.x - behind.x) * 180 / Math.PI + (back ? 180 : 0);
    const put = `translate(${here.x} ${here.y}) rotate(${turn}) scale(${size})`;
    for (const side of sides) side.children[n].setAttribute("transform", put);
  }
}

function filmPlayer(film, show, told) {
  const pictures = film.shown.length, moments = [...new Set(film.stops.map(stop => stop.picture))];
  let left = 0, before = 0;
  const player = {
    k: 0,
    playing: false,
    to(k) {
      player.k = (k % pictures + pictures) % pictures;
      left = film.shown[player.k];
      show(player.k);
    },
    play() {
      if (player.playing) return;
      player.playing = true;
      left = film.shown[player.k];
      before = performance.now();
      requestAnimationFrame(step);
      told();
    },
    pause() {
      player.playing = false;
      told();
    },
    toggle() { player.playing ? player.pause() : player.play(); },
    next() {
      player.pause();
      player.to(moments.find(at => at > player.k) ?? moments[0]);
    },
    previous() {
      player.pause();
      player.to(moments.findLast(at => at < player.k) ?? moments[moments.length - 1]);
    },
  };
  function step(now) {
    if (!player.playing) return;
    left -= Math.min(now - before, 250);  // a page that slept goes on where it was
    before = now;
    let k = player.k;
    while (left <= 0) {
      k = (k + 1) % pictures;
      left += film.shown[k];
    }
    if (k !== player.k) {
      const rest = left;
      player.to(k);
      left = rest;
    }
    requestAnimationFrame(step);
  }
  player.to(0);
  return player;
}

function listenToKeys(player) {
  document.addEventListener("keydown", event => {
    const field = event.target.closest("input:not([type=range]), textarea, select");
    if (field || event.altKey || event.ctrlKey || event.metaKey || event.shiftKey) return;
    const act = {" ": player.toggle, ArrowRight: player.next, ArrowLeft: player.previous}[event.key];
    if (!act || (event.key === " " && event.target.closest("button, summary, a"))) return;
    event.preventDefault();
    act();
  });
}
