/** What the server answers about a dancer. */

import type { BenchView } from "./bench_data";
import type { ArmShape } from "./dancer_drawing";

export interface SpringRow {
  rank: number;
  spring: number;
  rate_n_per_m: number;
  hole_m: number;
  tension_lower_n: number;
  tension_middle_n: number;
  tension_upper_n: number;
  travel_share: number | null;
  fits: boolean;
  reason: string;
}

export interface SpringTable {
  force_to_load_n: number;
  choices: SpringRow[];
  cautions: string[];
}

export interface CycleStudy {
  spring: number;
  hole_m: number;
  chosen: string;
  turning_speed_rad_per_s: number;
  turns: number;
  duration_s: number;
  tension_mean_n: number;
  tension_peak_n: number;
  arm_angle_low_rad: number;
  arm_angle_high_rad: number;
  lower_hits: number;
  upper_hits: number;
  slack_time_s: number;
  breaking_hint_n: number;
  film_residual: number;
  energy_residual: number;
  undriven_frequency_hz: number | null;
  bounce_frequency_hz: number | null;
  bounce_damping: number | null;
  orders: { order: number; frequency_hz: number; swing_rad: number; tension_n: number; amplification: number; resonant: boolean }[];
  steady: { tension_mean_n: number; tension_low_n: number; tension_peak_n: number; tension_ripple: number; peak_over_mean: number; travel_used: number; corner_share: number; is_smooth: boolean; faults: string[] };
  samples: { time_s: number; turntable_angle_rad: number; arm_angle_rad: number; tension_n: number; film_speed_m_per_s: number; film_demand_m_per_s: number }[];
  findings: string[];
}

export type CycleView = { study: CycleStudy; arm: ArmShape } & Pick<BenchView, "outline" | "machine" | "turn">;

export interface TraceStudy {
  file: string;
  rows: number;
  rows_missing: number;
  duration_s: number;
  position_kind: string;
  turn_period_s: number;
  turn_is_certain: boolean;
  turns_used: number;
  swing_peak_to_peak: number;
  corner_share: number;
  repeating_share: number;
  bounce_share: number;
  slow_share: number;
  bounce: { frequency_hz: number; frequency_error_hz: number; damping: number; damping_error: number } | null;
  lower_hits: number | null;
  upper_hits: number | null;
  orders: number[];
  order_amplitudes: number[];
  mean_turn: number[];
  verdict: string;
  sentence: string;
  trace_findings: { code: string; evidence: string; try_first: string }[];
  thresholds_origin: string;
  simulated: { difference_rms_rad: number; simulated_turn_rad: number[] } | null;
  notes: string[];
  cautions: string[];
}
