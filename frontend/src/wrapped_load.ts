/** The wrapped load on the bench, turn by turn. */

import type { Drawn } from "./chart";
import { byId, el, svg } from "./dom";
import type { Predicted } from "./generated/api";
import { SHADES } from "./heat";
import { edgeAt, legAt } from "./legs";
import { Perimeter } from "./perimeter";
import { Player } from "./player";
import { speedChart } from "./prediction_charts";
import type { WrapScene } from "./scene";
import type { Shower } from "./units";
import { say } from "./words";

/** Buttons that turn, tip or bring near: radians round, radians up, times nearer. */
const LOOKS = [
  ["look-left", 0.26, 0, 1],
  ["look-right", -0.26, 0, 1],
  ["look-up", 0, 0.15, 1],
  ["look-down", 0, -0.15, 1],
  ["nearer", 0, 0, 1.2],
  ["farther", 0, 0, 1 / 1.2],
] as const;

export class WrappedLoad {
  private scene: WrapScene | null = null;
  private view: Predicted | null = null;
  private perimeter: Perimeter | null = null;
  private speeds: Drawn | null = null;
  private readonly player: Player;
  private readonly slider = byId<HTMLInputElement>("turn");

  constructor(private readonly show: Shower) {
    this.player = new Player(
      { button: byId("play"), slider: this.slider, pace: byId("pace") },
      () => (this.view?.machine.turning_speed_rad_per_s ?? 0) / (2 * Math.PI),
      (turn) => this.showTurn(turn),
    );
    const heat = byId<HTMLInputElement>("heat");
    heat.addEventListener("change", () => {
      this.scene?.setHeat(heat.checked);
      byId("heat-legend").hidden = !heat.checked;
    });
    byId("heat-legend").replaceChildren(...shades());
    for (const [id, around, above, nearer] of LOOKS)
      byId(id).addEventListener("click", () => this.scene?.look(around, above, nearer));
    void this.load();
  }

  private async load(): Promise<void> {
    const host = byId("scene");
    try {
      if (!document.createElement("canvas").getContext("webgl2")) throw new Error("no WebGL");
      const { WrapScene } = await import("./scene");
      this.scene = new WrapScene(host);
    } catch {
      const words = say("This browser draws nothing in three dimensions. The profile and the numbers say the same.");
      host.replaceChildren(el("p", { class: "no-scene" }, words));
      return;
    }
    host.dataset.ready = "true";
    if (this.view) this.setView(this.view);
  }

  setView(view: Predicted): void {
    this.view = view;
    this.perimeter = new Perimeter({ ...view, turns: view.prediction.turns });
    this.speeds = speedChart(view, this.perimeter, this.show, byId("speeds").clientWidth);
    byId("speeds").replaceChildren(this.speeds.node);
    this.scene?.setView(view);
    this.player.setEnd(view.prediction.turns);
  }

  private showTurn(turn: number): void {
    const { view, perimeter, show } = this;
    if (!view || !perimeter) return;
    const leg = legAt(view.legs, turn);
    const place = { turn: turn.toFixed(1), turns: view.prediction.turns.toFixed(1), part: leg.part };
    this.slider.setAttribute("aria-valuetext", say("turn {turn} of {turns}, {part}", place));
    byId("turn-words").textContent = say(
      "turn {turn} of {turns}, {part}; film's lower edge {edge} above the deck; film speed {speed}",
      {
        ...place,
        edge: show.show(edgeAt(leg, turn), "length"),
        speed: show.show(perimeter.speed(turn), "speed"),
      },
    );
    this.speeds?.cursor(turn % 1);
    this.scene?.setTurn(turn);
  }
}

function shades(): HTMLElement[] {
  const last = SHADES.length - 1;
  return SHADES.map((shade, layers) => {
    const swatch = svg("rect", { x: 0.5, y: 0.5, width: 17, height: 13, fill: shade, class: "swatch" });
    const sample = svg("svg", { viewBox: "0 0 18 14", width: 18, height: 14, "aria-hidden": "true" }, swatch);
    return el(
      "li",
      {},
      sample,
      layers === 0 ? say("bare") : layers === last ? say("{layers} or more", { layers }) : String(layers),
    );
  });
}
