/** What the way does to the wrapped load: its stack in motion, slips over time, what the screen says. */

import { ask } from "./api";
import { blocksShown } from "./blocks";
import { CalibrationPanel } from "./calibration_panel";
import type { Drawn } from "./chart";
import { drawChart, legend } from "./chart";
import { byId, el } from "./dom";
import type { SentFile, TransportView } from "./generated/api";
import { Live, stateWords } from "./live";
import { Player } from "./player";
import { problemsShown } from "./questions";
import { sentFile, whenChosen } from "./sent_file";
import type { Shell } from "./shell";
import { StackDrawing } from "./stack_drawing";
import { say } from "./words";

/** Time between the pictures that stand in for motion where the reader wants none [s]. */
const STILL = 0.25;

export class WayPanel {
  private readonly drawing = new StackDrawing(byId("stack"));
  private readonly choice = byId<HTMLSelectElement>("way-choice");
  private readonly player: Player;
  private readonly live: Live<TransportView>;
  private chart: Drawn | null = null;
  private view: TransportView | null = null;
  private recording: SentFile | null = null;
  private right: string[] = [];

  /**
   * @param overruled is told what was simulated; its verdict counts where it is the worse.
   * @param confirm keeps that the value in a field is right.
   * @param used is called when the case was calibrated.
   */
  constructor(
    private readonly shell: Shell,
    private readonly overruled: (view: TransportView) => void,
    confirm: (field: string) => void,
    used: () => void,
  ) {
    new CalibrationPanel(shell, used);
    whenChosen(byId<HTMLInputElement>("way-recording"), ([file]) => {
      if (file) void sentFile(file).then((sent) => this.record(sent));
    });
    byId("way-no-recording").addEventListener("click", () => this.record(null));
    this.player = new Player(
      { button: byId("way-play"), slider: byId("way-time"), pace: byId("way-pace") },
      () => 1,
      (time) => this.showTime(time),
    );
    this.choice.addEventListener("change", () => this.showWay());
    // A question about the recording is answered here, one about the case in the case.
    const right = (field: string): void => {
      if (!this.recording || !field.startsWith(this.recording.name)) {
        confirm(field);
        return;
      }
      this.right.push(field);
      this.live.changed();
    };
    this.live = new Live(
      (signal) =>
        ask("post", "/api/transport", {
          body: { case: shell.draft.case, recording: this.recording, as_typed: this.right },
          query: { units: shell.show.system },
          signal,
        }),
      (view) => this.show(view),
      (state, problems) => {
        byId("way").dataset.state = state;
        byId("way-state").textContent = stateWords(state);
        if (state !== "asking") byId("way-problems").replaceChildren(...problemsShown(problems, right));
      },
      600,
    );
  }

  /** The load is moved by a recorded trip; by the accelerations of the case where there is none. */
  private record(sent: SentFile | null): void {
    this.recording = sent;
    this.right = [];
    byId("way-recording-name").textContent = sent ? say("Moved by {name}.", { name: sent.name }) : "";
    byId("way-no-recording").hidden = sent === null;
    this.live.changed();
  }

  /** The case has changed, and can be predicted. */
  changed(): void {
    const isAsked = this.shell.draft.case.transport !== undefined;
    byId("way").hidden = !isAsked;
    if (isAsked) this.live.changed();
    else this.live.stop();
  }

  private show(view: TransportView): void {
    const chosen = this.choice.selectedIndex;
    this.view = view;
    this.overruled(view);
    byId("way-shown").hidden = false;
    this.choice.replaceChildren(...view.names.map((name, index) => el("option", { value: String(index) }, name)));
    this.choice.selectedIndex = chosen >= 0 && chosen < view.names.length ? chosen : 0;
    byId("way-moved").replaceChildren(...blocksShown(view.shown, { isFolded: true }));
    byId("way-findings").replaceChildren(...blocksShown(view.findings));
    byId("way-screen").replaceChildren(...blocksShown(view.screen, { isFolded: true }));
    byId("way-cautions").replaceChildren(...blocksShown(view.cautions));
    this.showWay();
  }

  private showWay(): void {
    const { view } = this;
    const index = this.choice.selectedIndex;
    const way = view?.simulation.ways[index];
    const words = view?.slips[index];
    if (!view || !way || !words) return;
    const { body_heights_m: heights, body_ahead_m: ahead, body_behind_m: behind } = view.simulation;
    this.drawing.setWay(way, heights, ahead[index] ?? [], behind[index] ?? []);
    const { show } = this.shell;
    // What slips most tells the story and is named; the rest share a shade, so they share a name.
    const most = way.largest_slips_m.indexOf(Math.max(...way.largest_slips_m));
    const chart = {
      title: words.title,
      x: { label: words.x, from: 0, to: way.times_s.at(-1) ?? 1 },
      y: { label: words.y },
      lines: words.lines.map((label, body) => ({
        points: way.times_s.map((time, sample): [number, number] => [
          time,
          show.number(way.slips_m[sample]?.[body] ?? 0, "small_length"),
        ]),
        label,
        style: body === most ? ("main" as const) : ("faint" as const),
      })),
      height: 200,
      width: byId("way-slips").clientWidth,
    };
    this.chart = drawChart(chart);
    const named = chart.lines.filter((_, body) => body === most);
    const rest = chart.lines.find((_, body) => body !== most);
    if (rest) named.push({ ...rest, label: say("the others") });
    byId("way-slips").replaceChildren(el("figure", {}, this.chart.node, legend({ ...chart, lines: named })));
    const end = way.times_s.at(-1) ?? 1;
    byId<HTMLInputElement>("way-time").step = String(end / 300);
    this.player.setEnd(end);
  }

  private showTime(time: number): void {
    if (!this.view) return;
    // Who wants no motion is shown stills while it plays; picture, clock and chart agree.
    const isStill = this.player.isRunning && time < this.player.end && wantsStills();
    const seen = isStill ? Math.floor(time / STILL) * STILL : time;
    this.drawing.show(seen);
    this.chart?.cursor(seen);
    const clock = say("{time} s", { time: seen.toFixed(2) });
    byId("way-clock").textContent = clock;
    byId("way-time").setAttribute("aria-valuetext", clock);
  }
}

function wantsStills(): boolean {
  return window.matchMedia("(prefers-reduced-motion: reduce)").matches;
}
