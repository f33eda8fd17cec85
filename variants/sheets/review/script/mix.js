// From what is planned to what is heard, live or into a buffer.

const LONGEST_NOTE = 6;
const RELEASE = 0.09;
const NOTE_GAIN = 0.28;
const CLICK_GAIN = 0.42;
// Up to here what is heard is what was summed; louder sums bend toward full scale, none beyond.
const KNEE = 0.7;

function softCurve() {
  return Float32Array.from({ length: 2049 }, (_, index) => {
    const value = index / 1024 - 1;
    const over = Math.max(0, Math.abs(value) - KNEE) / (1 - KNEE);
    return Math.sign(value) * (Math.min(Math.abs(value), KNEE) + (1 - KNEE) * Math.tanh(over));
  });
}

/** The sounds of one audio context: buffers are made when they are first needed. */
class Mix {
  constructor(context) {
    this.context = context;
    this.buffers = new Map();
    this.playing = new Set();
    this.out = context.createGain();
    // A little of the body of the instrument: its air and its top (about 100 and 200 Hz).
    const air = this.filter("peaking", 105, 3);
    const top = this.filter("peaking", 210, 2.5);
    const high = this.filter("highshelf", 4200, -5);
    this.strings = context.createGain();
    this.strings.connect(air).connect(top).connect(high).connect(this.out);
    const ceiling = context.createWaveShaper();
    ceiling.curve = softCurve();
    this.out.connect(ceiling).connect(context.destination);
  }

  filter(type, frequency, gain) {
    const node = this.context.createBiquadFilter();
    node.type = type;
    node.frequency.value = frequency;
    node.gain.value = gain;
    return node;
  }

  buffer(name, make) {
    if (!this.buffers.has(name)) {
      const samples = make();
      const made = this.context.createBuffer(1, samples.length, this.context.sampleRate);
      made.copyToChannel(samples, 0);
      this.buffers.set(name, made);
    }
    return this.buffers.get(name);
  }

  /** Make the sounds that a plan needs, so that none is late. */
  warm(plan) {
    for (const [, , midi] of plan.notes) this.note(midi);
  }

  note(midi) {
    const rate = this.context.sampleRate;
    return this.buffer(midi, () => pluck(midi, LONGEST_NOTE, rate));
  }

  /** Let something sound at a time of the context's clock. */
  sound(event, when, speed) {
    const rate = this.context.sampleRate;
    const source = this.context.createBufferSource();
    const level = this.context.createGain();
    const at = Math.max(when, this.context.currentTime);
    if (event.kind === "click") {
      source.buffer = this.buffer(`click${event.strong}`, () => click(event.strong, rate));
      level.gain.value = CLICK_GAIN;
      source.connect(level).connect(this.out);
      source.start(at);
    } else {
      source.buffer = this.note(event.midi);
      const stop = at + event.length / speed;
      level.gain.setValueAtTime(NOTE_GAIN, at);
      level.gain.setValueAtTime(NOTE_GAIN, Math.max(at, stop - 0.01));
      level.gain.linearRampToValueAtTime(0, stop + RELEASE);
      source.connect(level).connect(this.strings);
      source.start(at);
      source.stop(stop + RELEASE);
    }
    this.playing.add(source);
    source.onended = () => this.playing.delete(source);
  }

  silence() {
    for (const source of this.playing) source.stop();
    this.playing.clear();
  }
}

/** A plan as samples: everything that it plays once, counted in if it is so planned. */
async function render(plan, speed, rate = 44100) {
  const begins = plan.begins;
  const seconds = (plan.length - begins) / speed + RELEASE + 0.2;
  const context = new OfflineAudioContext(1, Math.ceil(seconds * rate), rate);
  const mix = new Mix(context);
  for (const event of plan.between(begins, plan.length)) {
    mix.sound(event, (event.at - begins) / speed, speed);
  }
  const made = await context.startRendering();
  return made.getChannelData(0);
}
