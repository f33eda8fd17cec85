// The desk: what is chosen there, and what it does.

const byId = (id) => document.getElementById(id);

class Desk {
  constructor(versions) {
    this.versions = versions;
    this.player = new Player();
    this.player.onEnd = () => this.stopped("The end");
    this.followers = versions.map((_, number) => new Follower(number));
    this.number = 0;
    this.step = 0;
    this.listen();
    this.hear(0, { quiet: true });
    this.showWhere();
  }

  get version() {
    return this.versions[this.number];
  }

  get wishes() {
    return {
      loop: byId("loop").checked,
      metronome: byId("metronome").checked,
      countIn: byId("count-in").checked,
    };
  }

  listen() {
    byId("play").addEventListener("click", () => this.toggle());
    byId("back").addEventListener("click", () => this.go(0));
    byId("version").addEventListener("change", (event) => this.hear(Number(event.target.value)));
    byId("speed").addEventListener("input", () => this.setSpeed(Number(byId("speed").value)));
    for (const id of ["loop", "from", "to", "metronome", "count-in"]) {
      byId(id).addEventListener("change", () => this.changed(id));
    }
    for (const box of document.querySelectorAll("[data-show]")) {
      box.addEventListener("change", () => this.show(Number(box.dataset.show), box.checked));
    }
    byId("versions").addEventListener("click", (event) => this.pointed(event.target));
    byId("theme").addEventListener("click", () => this.turnTheme());
    byId("help").addEventListener("click", () => byId("keys").showModal());
    matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => this.showTheme());
    this.showTheme();
  }

  pointed(target) {
    const button = target.closest("[data-listen]");
    const area = target.closest(".area");
    if (button) {
      const number = Number(button.dataset.listen);
      const again = this.player.isPlaying && number === this.number;
      this.hear(number);
      if (again || !this.player.isPlaying) this.toggle();
    } else if (area) {
      this.hear(Number(area.closest(".version").dataset.version));
      this.goToMeasure(Number(area.dataset.measure));
    }
  }

  /** What is played when the button is pressed: the loop, or from where we are to the end. */
  plan() {
    const { version, wishes } = this;
    const whole = wholeOf(version);
    if (wishes.loop) return new Plan(version, this.stretch(), wishes);
    const step = Math.min(this.step, version.order.length - 1);
    const start = version.order[step][1];
    return new Plan(version, { start, stop: whole.stop, step }, wishes);
  }

  stretch() {
    const last = this.version.measures.length - 1;
    const [from, to] = ["from", "to"].map((id) => Math.min(Number(byId(id).value), last));
    return stretchOf(this.version, from, to);
  }

  toggle() {
    if (this.player.isPlaying) {
      this.player.stop();
      this.stopped("Stopped");
      return;
    }
    this.play();
    byId("said").textContent = `Playing ${this.version.name}`;
  }

  play() {
    this.player.start(this.plan());
    this.showPlaying();
    cancelAnimationFrame(this.frame);
    this.tick();
  }

  stopped(word) {
    const follower = this.followers[this.number];
    follower.clear();
    if (word === "The end") this.step = 0;
    this.showPlaying();
    this.showWhere();
    byId("said").textContent = word;
  }

  tick() {
    if (!this.player.isPlaying) return;
    const { plan } = this.player;
    const now = this.player.now();
    this.step = stepAt(this.version, plan.sheetTime(now));
    const measure = this.version.order[this.step][0];
    const scroll = byId("follow").checked;
    this.followers[this.number].show(plan.soundingAt(now), measure, { scroll });
    this.showWhere(now < 0 ? "Count-in" : "");
    this.frame = requestAnimationFrame(() => this.tick());
  }

  /** Begin anew from where we are, when something changed that the plan depends on. */
  replan() {
    if (this.player.isPlaying) this.play();
  }

  changed(id) {
    if (id === "loop" || id === "from" || id === "to") this.showLoop();
    // A count-in is for the next start; it would only stop what plays now.
    if (id !== "count-in") this.replan();
  }

  hear(number, { quiet = false } = {}) {
    if (!this.versions[number]) return;
    const playing = this.player.isPlaying;
    const measure = this.version.order[this.step] ? this.version.order[this.step][0] : 0;
    this.followers[this.number].clear();
    this.followers[this.number].here(null, false);
    this.followers[this.number].frame(null);
    this.number = number;
    // The same measure, where this version has it.
    const step = this.version.order.findIndex(([index]) => index === measure);
    this.step = Math.max(0, step);
    byId("version").value = String(number);
    for (const article of document.querySelectorAll(".version")) {
      const heard = Number(article.dataset.version) === number;
      article.classList.toggle("heard", heard);
      if (heard && !quiet) article.scrollIntoView({ block: "nearest", inline: "nearest" });
    }
    this.showLoop();
    if (playing) this.play();
    else this.showPlaying();
    this.showWhere();
    if (!quiet) byId("said").textContent = `Hearing ${this.version.name}`;
  }

  go(step) {
    this.step = Math.min(Math.max(0, step), this.version.order.length - 1);
    if (byId("loop").checked) {
      // A place outside the loop ends it: one who points there wants to hear it.
      const { start, stop } = this.stretch();
      const at = this.version.order[this.step][1];
      if (at < start - 1e-6 || at >= stop - 1e-6) {
        byId("loop").checked = false;
        this.showLoop();
      }
    }
    this.replan();
    this.showWhere();
    const scroll = byId("follow").checked;
    this.followers[this.number].here(
      this.followers[this.number].ground(this.version.order[this.step][0]),
      scroll,
    );
  }

  goToMeasure(measure) {
    this.go(this.version.order.findIndex(([index]) => index === measure));
  }

  loopFrom(id) {
    byId(id).value = String(this.version.order[this.step][0]);
    byId("loop").checked = true;
    this.changed("loop");
  }

  setSpeed(percent) {
    const kept = Math.min(150, Math.max(25, percent));
    byId("speed").value = String(kept);
    byId("speed-text").textContent = `${kept}%`;
    this.player.setSpeed(kept / 100);
  }

  show(number, shown) {
    byId(`v${number}`).hidden = !shown;
    if (!shown && number === this.number) {
      const next = this.versions.findIndex((_, other) => !byId(`v${other}`).hidden);
      if (next >= 0) this.hear(next);
    }
  }

  showLoop() {
    const on = byId("loop").checked;
    const ends = ["from", "to"].map((id) => Number(byId(id).value)).sort((a, b) => a - b);
    this.followers[this.number].frame(...(on ? ends : [null, null]));
  }

  showPlaying() {
    const on = this.player.isPlaying;
    const play = byId("play");
    play.setAttribute("aria-pressed", String(on));
    play.querySelector(".word").textContent = on ? "Stop" : "Play";
    for (const button of document.querySelectorAll("[data-listen]")) {
      const here = on && Number(button.dataset.listen) === this.number;
      button.setAttribute("aria-pressed", String(here));
    }
  }

  showWhere(word = "") {
    const [index] = this.version.order[this.step] || [0];
    const text = word || `Measure ${this.version.measures[index]}`;
    if (byId("where").textContent !== text) byId("where").textContent = text;
  }

  get isDark() {
    const chosen = document.documentElement.dataset.theme;
    if (chosen) return chosen === "dark";
    return matchMedia("(prefers-color-scheme: dark)").matches;
  }

  turnTheme() {
    document.documentElement.dataset.theme = this.isDark ? "light" : "dark";
    this.showTheme();
  }

  showTheme() {
    byId("theme").setAttribute("aria-pressed", String(this.isDark));
  }
}
