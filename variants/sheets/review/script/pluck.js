// A plucked string after Karplus and Strong (Computer Music Journal 7(2), 1983), tuned with an
// all-pass as Jaffe and Smith do (same issue): noise runs around a loop as long as one period,
// a little duller and softer each time.

const A4_MIDI = 69;
const A4_HERTZ = 440;
// Share of the mean of neighbours in the loop: more is duller, and delays by as much.
const DULLNESS = 0.42;
// A high string dies away sooner than a low one: seconds to a thousandth, at A4.
const RING_AT_A4 = 2.6;
// Where the string is plucked, as a share of its length, toward the middle as for a warm tone.
const PLUCK_AT = 0.24;

function hertz(midi) {
  return A4_HERTZ * 2 ** ((midi - A4_MIDI) / 12);
}

/** Noise that is the same each time: a linear congruential generator (Numerical Recipes). */
function noiseOf(seed) {
  let state = (seed * 2654435761) >>> 0;
  return () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state / 2147483648 - 1;
  };
}

/** The burst that the pluck puts on the string: noise, softened, with the pluck's own gaps. */
function burst(size, midi) {
  const next = noiseOf(midi + 1);
  const raw = new Float32Array(size);
  let before = 0;
  for (let index = 0; index < size; index += 1) {
    before = 0.45 * next() + 0.55 * before;
    raw[index] = before;
  }
  const gap = Math.max(1, Math.round(size * PLUCK_AT));
  const shaped = raw.map((value, index) => value - raw[(index + size - gap) % size]);
  const mean = shaped.reduce((sum, value) => sum + value, 0) / size;
  const most = shaped.reduce((high, value) => Math.max(high, Math.abs(value - mean)), 1e-9);
  return shaped.map((value) => (value - mean) / most);
}

/** A note of some seconds at a sampling rate, its loudest sample about 1. */
function pluck(midi, seconds, rate) {
  const period = rate / hertz(midi);
  const whole = Math.max(2, Math.floor(period - DULLNESS - 0.3));
  const part = period - DULLNESS - whole;
  const turn = (1 - part) / (1 + part);
  const ring = RING_AT_A4 * 2 ** ((A4_MIDI - midi) / 24);
  const keep = 10 ** (-3 / (hertz(midi) * ring));
  const line = burst(whole, midi);
  const out = new Float32Array(Math.ceil(seconds * rate));
  let place = 0;
  let last = 0;
  let passedIn = 0;
  let passedOut = 0;
  for (let index = 0; index < out.length; index += 1) {
    const here = line[place];
    const dull = keep * ((1 - DULLNESS) * here + DULLNESS * last);
    last = here;
    passedOut = turn * (dull - passedOut) + passedIn;
    passedIn = dull;
    line[place] = passedOut;
    out[index] = here;
    place = place + 1 === whole ? 0 : place + 1;
  }
  return out;
}

/** A wooden click; the first beat of a measure is higher and louder. */
function click(strong, rate) {
  const out = new Float32Array(Math.ceil(0.06 * rate));
  const pitch = strong ? 1760 : 1175;
  for (let index = 0; index < out.length; index += 1) {
    const time = index / rate;
    out[index] = (strong ? 0.9 : 0.6) * Math.exp(-time * 90) * Math.sin(2 * Math.PI * pitch * time);
  }
  return out;
}
