/** What the server answers about a design. */

import type { Finding } from "./bench_data";

export interface Stop {
  height_m: number;
  wraps: number;
  on_the_way: string;
}

export interface Settings {
  film: string;
  prestretch: number;
  force_to_load_n: number;
  bottom_wraps: number;
  rise_per_turn_m: number;
  top_wraps: number;
  fall_per_turn_m: number | null;
  bands: Stop[];
  speed_rad_per_s: number;
}

export interface Program {
  settings: Settings;
  film_mass_kg: number;
  cycle_time_s: number;
  turns: number;
  layers_min: number;
  containment_later_min_n: number;
  corner_force_max_n_per_m: number | null;
  tension_peak_share: number;
  holds: boolean;
  misses: string[];
}

export interface FrontPoint {
  film_mass_kg: number;
  cycle_time_s: number;
  containment_later_min_n: number;
  share_of_targets: number | null;
  settings: Settings;
}

export interface DesignResult {
  title: string;
  objective: string;
  possible: boolean;
  as_today: boolean;
  targets: { field: string; low_m: number; high_m: number; asked_n: number; held_today_n: number; held_n: number | null }[];
  transport_profiles: string[];
  today: Program;
  chosen: Program | null;
  film_saved: number | null;
  film_saved_per_year_kg: number | null;
  changed: string[];
  binding: { limit: string; field: string; message: string; gain: number }[];
  fewer_changes: { changes: number; changed: string[]; program: Program; film_saved: number; share_of_gain: number }[];
  film_bound_kg: number | null;
  turns_bound: number | null;
  gap: number | null;
  profiled: { program: Program; film_bound_kg: number; gap: number; film_saved: number } | null;
  front: FrontPoint[];
  robustness: { asked: number; reached: boolean; draws: number; today: number; plain: number; chosen: number; chosen_low: number; chosen_high: number } | null;
  obstacles: { limit: string; field: string; message: string }[];
  programs_evaluated: number;
  programs_pruned: number;
  search_time_s: number;
  findings: Finding[];
  cautions: string[];
}
