/** The bench: the case, the wrapped load, and what it takes and holds. */

import { send, sentence } from "../api";
import type { BenchView } from "../bench_data";
import { edgeAt, legAt } from "../bench_data";
import type { Drawn } from "../chart";
import { drawChart } from "../chart";
import { byId, el, svg } from "../dom";
import { fileBar } from "../files";
import { CaseForm } from "../form";
import { SHADES } from "../heat";
import { Live } from "../live";
import { Perimeter } from "../perimeter";
import { Player } from "../player";
import { cautions, findings, keyFigures, numbers, profileChart, restsOn } from "../results";
import type { WrapScene } from "../scene";
import type { Shell } from "../shell";
import { openShell, start } from "../shell";

start(async () => {
  let view: BenchView | null = null;
  const again = (): void => {
    if (view) showView(view);
  };
  const shell: Shell = await openShell(again);
  const load = new WrappedLoad(shell);

  const form = new CaseForm(byId("case-form"), shell.fields, shell.draft.case, () => {
    files.changed();
    live.changed();
  });
  const goTo = (field: string): void => void form.focus(field);
  const files = fileBar(shell.draft, shell.fields.starter, (table) => {
    form.replace(table);
    live.changed();
  });

  const showView = (next: BenchView): void => {
    view = next;
    const p = next.prediction;
    byId("figures").replaceChildren(keyFigures(p, shell.show));
    byId("profile").replaceChildren(profileChart(p, shell.show));
    byId("findings").replaceChildren(findings(p.findings, goTo));
    byId("numbers").replaceChildren(...numbers(p, shell.show), restsOn(p, shell.show, goTo));
    byId("cautions").replaceChildren(cautions(p.cautions));
    load.setView(next);
  };

  const live = new Live<BenchView>(
    (signal) => send("POST", "/api/predict", { case: shell.draft.case }, signal),
    showView,
    (state, problems) => {
      document.body.dataset["state"] = state;
      const homeless = state === "asking" ? [] : form.showProblems(problems);
      const count = problems.length === 1 ? "1 value needs" : `${problems.length} values need`;
      byId("state").textContent =
        state === "fresh" ? "Up to date" : state === "asking" ? "Calculating …" : `${count} mending; ${view ? "the results shown are of an earlier case" : "no results yet"}`;
      byId("problems").replaceChildren(...homeless.map((each) => el("p", { class: "error" }, `${each.field}: ${sentence(each)}`)));
    },
  );
  await live.now();
});

/** The wrapped load, turn by turn. */
class WrappedLoad {
  private scene: WrapScene | null = null;
  private view: BenchView | null = null;
  private perimeter: Perimeter | null = null;
  private speeds: Drawn | null = null;
  private readonly player: Player;
  private readonly slider = byId<HTMLInputElement>("turn");

  constructor(private readonly shell: Shell) {
    this.player = new Player(
      { button: byId("play"), slider: this.slider, pace: byId("pace") },
      () => (this.view?.machine.turning_speed_rad_per_s ?? 0) / (2 * Math.PI),
      (turn) => this.show(turn),
    );
    const heat = byId<HTMLInputElement>("heat");
    heat.addEventListener("change", () => {
      this.scene?.setHeat(heat.checked);
      byId("heat-legend").hidden = !heat.checked;
    });
    byId("heat-legend").replaceChildren(...shades());
    for (const [id, around, above, nearer] of [
      ["look-left", 0.26, 0, 1],
      ["look-right", -0.26, 0, 1],
      ["look-up", 0, 0.15, 1],
      ["look-down", 0, -0.15, 1],
      ["nearer", 0, 0, 1.2],
      ["farther", 0, 0, 1 / 1.2],
    ] as const) {
      byId(id).addEventListener("click", () => this.scene?.look(around, above, nearer));
    }
    void this.load();
  }

  private async load(): Promise<void> {
    const host = byId("scene");
    try {
      if (!document.createElement("canvas").getContext("webgl2")) throw new Error("no WebGL");
      const { WrapScene } = await import("../scene");
      this.scene = new WrapScene(host);
    } catch {
      host.replaceChildren(el("p", { class: "no-scene" }, "This browser draws nothing in three dimensions. The profile and the numbers say the same."));
      return;
    }
    host.dataset["ready"] = "true";
    if (this.view) this.setView(this.view);
  }

  setView(view: BenchView): void {
    this.view = view;
    this.perimeter = new Perimeter({ ...view, turns: view.prediction.turns });
    this.drawSpeeds(view, this.perimeter);
    this.scene?.setView(view);
    this.player.setEnd(view.prediction.turns);
  }

  private drawSpeeds(view: BenchView, perimeter: Perimeter): void {
    const show = this.shell.show;
    const count = view.turn.angle_rad.length;
    const first = Math.round((perimeter.start / (2 * Math.PI)) * count);
    const points = Array.from({ length: count + 1 }, (_, index): [number, number] => [
      index / count,
      show.number(view.turn.film_speed_m_per_s[(first + index) % count] ?? 0, "speed"),
    ]);
    this.speeds = drawChart({
      title: `Film speed round one turn: ${show.show(view.prediction.film_speed_min_m_per_s, "speed")} at the flat of a side to ${show.show(view.prediction.film_speed_max_m_per_s, "speed")} at a corner`,
      x: { label: "part of a turn", from: 0, to: 1 },
      y: { label: `film speed [${show.line("speed").symbol}]`, from: 0 },
      lines: [{ points, label: "film speed", style: "main" }],
      height: 150,
      width: byId("speeds").clientWidth,
    });
    byId("speeds").replaceChildren(this.speeds.node);
  }

  private show(turn: number): void {
    const { view, perimeter } = this;
    if (!view || !perimeter) return;
    const leg = legAt(view.legs, turn);
    const show = this.shell.show;
    const words = `turn ${turn.toFixed(1)} of ${view.prediction.turns.toFixed(1)}, ${leg.part}`;
    this.slider.setAttribute("aria-valuetext", words);
    byId("turn-words").textContent = `${words}; film's lower edge ${show.show(edgeAt(leg, turn), "length")} above the deck; film speed ${show.show(perimeter.speed(turn), "speed")}`;
    this.speeds?.cursor(turn % 1);
    this.scene?.setTurn(turn);
  }
}

function shades(): HTMLElement[] {
  return SHADES.map((shade, layers) =>
    el(
      "li",
      {},
      svg("svg", { viewBox: "0 0 18 14", width: 18, height: 14, "aria-hidden": "true" }, svg("rect", { x: 0.5, y: 0.5, width: 17, height: 13, fill: shade, class: "swatch" })),
      layers === 0 ? "bare" : layers === SHADES.length - 1 ? `${layers} or more` : String(layers),
    ),
  );
}
