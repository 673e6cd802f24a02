/** A play button, a slider and a pace: time or turns that run, stop and can be moved by hand. */

import { say } from "./words";

export interface Controls {
  button: HTMLButtonElement;
  slider: HTMLInputElement;
  pace: HTMLSelectElement;
}

export class Player {
  private isPlaying = false;
  private last = 0;
  private value = Number.POSITIVE_INFINITY;

  /**
   * @param rate units of the slider in a second at pace 1.
   * @param shown draws the cycle at a value.
   */
  constructor(
    private readonly controls: Controls,
    private readonly rate: () => number,
    private readonly shown: (value: number) => void,
  ) {
    const { button, slider } = controls;
    slider.addEventListener("input", () => {
      this.stop();
      // The slider moves in steps; its last one is the very end.
      this.set(Number(slider.value) > this.end - Number(slider.step) ? this.end : Number(slider.value));
    });
    button.addEventListener("click", () => (this.isPlaying ? this.stop() : this.play()));
  }

  get isRunning(): boolean {
    return this.isPlaying;
  }

  get end(): number {
    return Number(this.controls.slider.max);
  }

  /** Another cycle: who stood at its end stays there. */
  setEnd(end: number): void {
    const wasAtEnd = this.value >= this.end;
    this.controls.slider.max = String(end);
    this.set(wasAtEnd ? end : Math.min(this.value, end));
  }

  set(value: number): void {
    this.value = Math.min(value, this.end);
    this.controls.slider.value = String(this.value);
    this.shown(this.value);
  }

  private play(): void {
    if (this.value >= this.end) this.value = 0;
    this.isPlaying = true;
    this.controls.button.textContent = say("Pause");
    this.last = performance.now();
    requestAnimationFrame((now) => this.step(now));
  }

  private stop(): void {
    this.isPlaying = false;
    this.controls.button.textContent = say("Play");
  }

  private step(now: number): void {
    if (!this.isPlaying) return;
    // A frame that took long does not make the cycle jump.
    const seconds = Math.max(0, Math.min(now - this.last, 250)) / 1000;
    this.last = now;
    this.set(this.value + seconds * Number(this.controls.pace.value) * this.rate());
    if (this.value >= this.end) this.stop();
    else requestAnimationFrame((next) => this.step(next));
  }
}
