// Plays a plan on the clock of the audio hardware: a timer wakes up often and hands over what
// is due soon, so that a busy page does not make the music limp.

const AHEAD = 0.2;
const WAKE_MS = 40;
const LEAD = 0.08;

class Player {
  constructor() {
    this.speed = 1;
    this.plan = null;
    this.timer = 0;
    // Where the clock and the plan met: each change of speed adds such a place.
    this.anchors = [];
    this.handed = 0;
    this.onEnd = () => {};
  }

  get isPlaying() {
    return this.plan !== null;
  }

  start(plan) {
    this.stop();
    if (!this.context) {
      this.context = new AudioContext();
      this.mix = new Mix(this.context);
    }
    this.context.resume();
    this.mix.warm(plan);
    this.plan = plan;
    this.handed = plan.begins;
    this.anchors = [{ clock: this.context.currentTime + LEAD, time: plan.begins, speed: this.speed }];
    this.timer = setInterval(() => this.wake(), WAKE_MS);
    this.wake();
  }

  stop() {
    clearInterval(this.timer);
    if (this.plan) this.mix.silence();
    this.plan = null;
  }

  /** Go on from where the sound has been handed over, at another speed. */
  setSpeed(speed) {
    if (this.plan && speed !== this.speed) {
      this.anchors.push({ clock: this.clockAt(this.handed), time: this.handed, speed });
      this.anchors = this.anchors.slice(-4);
    }
    this.speed = speed;
  }

  clockAt(time) {
    const { clock, time: from, speed } = this.anchors[this.anchors.length - 1];
    return clock + (time - from) / speed;
  }

  /** Time of the plan now. */
  now() {
    const clock = this.context.currentTime;
    let here = this.anchors[0];
    for (const anchor of this.anchors) if (anchor.clock <= clock) here = anchor;
    return here.time + (clock - here.clock) * here.speed;
  }

  wake() {
    const { plan } = this;
    const last = this.anchors[this.anchors.length - 1];
    const until = last.time + (this.context.currentTime + AHEAD - last.clock) * last.speed;
    if (until > this.handed) {
      const to = Math.min(until, plan.ends);
      for (const event of plan.between(this.handed, to)) {
        this.mix.sound(event, this.clockAt(event.at), last.speed);
      }
      this.handed = to;
    }
    if (this.now() >= plan.ends) {
      this.stop();
      this.onEnd();
    }
  }
}
