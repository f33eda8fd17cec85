// Begins, and lends a hand to those who drive the page by a script: `window.review`.

const { versions } = JSON.parse(byId("data").textContent);
const desk = new Desk(versions);
listenToKeys(desk);

// Lines are as high as those beside them, but where nothing is beside them as high as they are.
const alone = matchMedia("print, (max-width: 48rem)");
function fitLines(isAlone) {
  for (const line of document.querySelectorAll(".line")) {
    line.setAttribute("viewBox", isAlone ? line.dataset.own : line.dataset.row);
  }
}
alone.addEventListener("change", () => fitLines(alone.matches));
addEventListener("beforeprint", () => fitLines(true));
addEventListener("afterprint", () => fitLines(alone.matches));
fitLines(alone.matches);

window.review = {
  versions,
  desk,
  /** Samples of a version, measures as written from 0: for checks and for other programs. */
  render({ version = 0, from, to, speed = 1, metronome = false, countIn = false } = {}) {
    const chosen = versions[version];
    const stretch = from === undefined ? wholeOf(chosen) : stretchOf(chosen, from, to ?? from);
    return render(new Plan(chosen, stretch, { loop: false, metronome, countIn }), speed);
  },
};
