// Times of a version. "Written" seconds are those at the tempo of the sheet; the speed comes in
// only where they become seconds of the clock.

/** The whole of a version as played: from the first measure to the end. */
function wholeOf(version) {
  const last = version.order[version.order.length - 1];
  return { start: 0, stop: last ? last[1] + last[2] : 0, step: 0 };
}

/** Where the measures `from` to `to` (indices as written) are first played through. */
function stretchOf(version, from, to) {
  const low = Math.min(from, to);
  const high = Math.max(from, to);
  let first = version.order.findIndex(([index]) => index >= low && index <= high);
  if (first < 0) first = 0;
  let last = version.order.findIndex(([index], step) => step >= first && index === high);
  if (last < 0) last = first;
  const [, start] = version.order[first];
  const [, begins, lasts] = version.order[last];
  return { start, stop: begins + lasts, step: first };
}

/** The step of the order that is played at a time. */
function stepAt(version, time) {
  let found = 0;
  version.order.forEach(([, start], step) => {
    if (start <= time + 1e-6) found = step;
  });
  return found;
}

/**
 * What is to be played, on a time of its own: 0 where the stretch begins, below 0 while it is
 * counted in, and on and on when it is looped.
 */
class Plan {
  constructor(version, { start, stop, step }, { loop, metronome, countIn }) {
    this.version = version;
    this.start = start;
    this.length = Math.max(0.05, stop - start);
    this.loop = loop;
    this.metronome = metronome;
    this.countIn = countIn ? version.before[step] : [];
    this.notes = version.notes.filter(([at]) => at >= start - 1e-6 && at < stop - 1e-6);
    this.clicks = version.clicks.filter(([at]) => at >= start - 1e-6 && at < stop - 1e-6);
  }

  /** When the first sound is due: 0, or below 0 with a count-in. */
  get begins() {
    return this.countIn.length ? this.countIn[0][0] : 0;
  }

  get ends() {
    return this.loop ? Infinity : this.length;
  }

  /** Written time on the sheet of a time of the plan; before 0 it stays where it will begin. */
  sheetTime(time) {
    if (time < 0) return this.start;
    const within = this.loop ? time % this.length : Math.min(time, this.length);
    return this.start + within;
  }

  /** What begins in [from, to), in order of time. */
  between(from, to) {
    const found = [];
    for (const [at, strong] of this.countIn) {
      if (at >= from && at < to) found.push({ kind: "click", at, strong });
    }
    const first = Math.max(0, Math.floor(from / this.length));
    const last = this.loop ? Math.floor(to / this.length) : 0;
    for (let round = first; round <= last; round += 1) {
      const shift = round * this.length - this.start;
      for (const [begin, lasts, midi, head, place] of this.notes) {
        const at = begin + shift;
        if (at < from || at >= to) continue;
        const left = (round + 1) * this.length - at;
        found.push({ kind: "note", at, length: Math.min(lasts, left), midi, head, place });
      }
      if (!this.metronome) continue;
      for (const [begin, strong] of this.clicks) {
        const at = begin + shift;
        if (at >= from && at < to) found.push({ kind: "click", at, strong });
      }
    }
    return found.sort((one, two) => one.at - two.at);
  }

  /** What of the sheet sounds at a time of the plan. */
  soundingAt(time) {
    if (time < 0 || time >= this.ends) return [];
    const now = this.sheetTime(time) + 1e-4;
    return this.notes.filter(([at, lasts]) => at <= now && now < at + lasts);
  }
}
