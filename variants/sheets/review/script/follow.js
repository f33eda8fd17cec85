// Shows what sounds: the heads, the place on the neck, the measure, and a bar behind the note.

const SVG = "http://www.w3.org/2000/svg";
const BAR_WIDTH = 330;

class Follower {
  constructor(number) {
    this.root = document.getElementById(`v${number}`);
    this.number = number;
    this.lit = new Set();
    this.cursor = document.createElementNS(SVG, "rect");
    this.cursor.setAttribute("class", "cursor");
    this.cursor.setAttribute("width", BAR_WIDTH);
    this.cursor.setAttribute("rx", 60);
  }

  /** Light what sounds, and nothing else. */
  show(notes, measure, { scroll }) {
    const wanted = new Set();
    for (const [, , , head, place] of notes) {
      for (const kind of ["n", "t"]) {
        const element = document.getElementById(`v${this.number}-${kind}${head}`);
        if (element) wanted.add(element);
      }
      const spot = place && this.place(place);
      if (spot) wanted.add(spot);
    }
    const ground = this.ground(measure);
    for (const element of this.lit) if (!wanted.has(element)) element.classList.remove("now");
    for (const element of wanted) element.classList.add("now");
    this.lit = wanted;
    this.here(ground, scroll);
    this.bar(ground, notes);
  }

  place(text) {
    const [part, string, fret] = text.split(".");
    return this.root.querySelector(
      `.neck[data-part="${part}"] .place[data-place="${string}.${fret}"]`,
    );
  }

  ground(measure) {
    return this.root.querySelector(`.ground[data-measure="${measure}"]`);
  }

  here(ground, scroll) {
    if (ground === this.last) return;
    if (this.last) this.last.classList.remove("here");
    this.last = ground;
    if (!ground) return;
    ground.classList.add("here");
    if (scroll) keepInView(ground.closest(".line"));
  }

  /** Put the bar behind the newest of what sounds. */
  bar(ground, notes) {
    const latest = notes.reduce((best, note) => (!best || note[0] > best[0] ? note : best), null);
    const head =
      latest &&
      (document.getElementById(`v${this.number}-n${latest[3]}`) ||
        document.getElementById(`v${this.number}-t${latest[3]}`));
    if (!head || !ground || head.closest(".line") !== ground.closest(".line")) return;
    // A syllable belongs to its note, and would draw the bar to its own middle.
    const box = (head.querySelector(".notehead") || head).getBBox();
    this.cursor.setAttribute("x", box.x + box.width / 2 - BAR_WIDTH / 2);
    this.cursor.setAttribute("y", ground.getAttribute("y"));
    this.cursor.setAttribute("height", ground.getAttribute("height"));
    if (this.cursor.parentNode !== ground.parentNode || this.cursor.previousSibling !== ground) {
      ground.after(this.cursor);
    }
  }

  /** Frame the measures that are looped; none when `from` is null. */
  frame(from, to) {
    for (const ground of this.root.querySelectorAll(".ground")) {
      const at = Number(ground.dataset.measure);
      ground.classList.toggle("looped", from !== null && at >= from && at <= to);
    }
  }

  clear() {
    for (const element of this.lit) element.classList.remove("now");
    this.lit = new Set();
    this.cursor.remove();
  }
}

/** Scroll a line of music into view, below the neck that stays on top. */
function keepInView(line) {
  const view = document.getElementById("versions");
  const stage = line.closest(".stage");
  const necks = stage.querySelector(".necks");
  const stuck = necks && getComputedStyle(necks).position === "sticky" ? necks.offsetHeight : 0;
  line.style.scrollMarginTop = `${stuck + 8}px`;
  const still = matchMedia("(prefers-reduced-motion: reduce)").matches;
  const box = line.getBoundingClientRect();
  const outer = view.getBoundingClientRect();
  const low = Math.min(outer.bottom, innerHeight);
  if (box.top < Math.max(outer.top, 0) + stuck || box.bottom > low) {
    line.scrollIntoView({ block: "start", inline: "nearest", behavior: still ? "auto" : "smooth" });
  }
}
