// The time that runs, is stepped or is set; what is drawn then is another's.

/** A window that slept goes on where it was, seconds. */
const LONGEST_STEP_S = 0.25;

export class Player {
  /** `draw` is called whenever something may look otherwise. */
  constructor(draw) {
    this.draw = draw;
    Object.assign(this, { t_s: 0, start_s: 0, end_s: 0, speed: 1, playing: false, before_ms: 0 });
  }

  /** Another span of time, at its beginning, standing. */
  span(start_s, end_s) {
    Object.assign(this, { t_s: start_s, start_s, end_s, playing: false });
  }

  get ended() {
    return this.t_s >= this.end_s;
  }

  /** The time that is played at a moment of the window's clock, which may lie between two frames. */
  timeAt(at_ms) {
    const passed_s = this.playing ? (Math.max(at_ms - this.before_ms, 0) / 1000) * this.speed : 0;
    return Math.min(this.t_s + passed_s, this.end_s);
  }

  toggle() {
    if (this.playing) this.pause();
    else this.start();
  }

  start() {
    if (this.ended) this.t_s = this.start_s;
    this.playing = true;
    this.before_ms = performance.now();
    requestAnimationFrame((at_ms) => this.frame(at_ms));
    this.draw();
  }

  pause() {
    this.playing = false;
    this.draw();
  }

  seek(to_s) {
    this.t_s = Math.min(Math.max(to_s, this.start_s), this.end_s);
    this.draw();
  }

  frame(at_ms) {
    if (!this.playing) return;
    this.t_s += Math.min((at_ms - this.before_ms) / 1000, LONGEST_STEP_S) * this.speed;
    this.before_ms = at_ms;
    if (this.ended) {
      this.t_s = this.end_s;
      this.pause();
      return;
    }
    this.draw();
    requestAnimationFrame((next_ms) => this.frame(next_ms));
  }
}
