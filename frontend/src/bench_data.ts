/** What the server answers to a case on the bench. */

export interface Finding {
  code: string;
  field: string;
  message: string;
}

export interface HeightPoint {
  height_m: number;
  layers_min: number;
  layers_mean: number;
  force_n: number;
  force_mean_n: number;
  force_later_n: number;
  force_later_low_n: number;
  force_later_high_n: number;
}

export interface Prediction {
  title: string;
  film_mass_kg: number;
  film_length_m: number;
  film_cost: number | null;
  film_mass_per_year_kg: number;
  film_cost_per_year: number | null;
  currency: string;
  prestretch_set: number;
  prestretch_delivered: number;
  stretch_on_load: number;
  film_width_on_load_m: number;
  neck_down_m: number;
  turns: number;
  parts: { part: string; turns: number; film_length_m: number; film_mass_kg: number; time_s: number }[];
  rise_per_turn_m: number;
  fall_per_turn_m: number | null;
  overlap_up: number;
  overlap_down: number | null;
  layers_min: number;
  layers_mean: number;
  containment_min_n: number;
  later_s: number;
  containment_later_min_n: number;
  containment_later_low_n: number;
  containment_later_high_n: number;
  containment_profile: HeightPoint[];
  hoop_tension_max_n_per_m: number;
  corner_force_max_n_per_m: number | null;
  pull_plate_height_m: number;
  pull_plate_reading_n: number | null;
  film_below_deck_m: number;
  pallet_lock_layers_min: number;
  pallet_lock_force_n: number;
  overhang_m: number | null;
  cycle_time_s: number;
  wrapping_time_s: number;
  film_speed_min_m_per_s: number;
  film_speed_mean_m_per_s: number;
  film_speed_max_m_per_s: number;
  loads_per_roll: number;
  roll_changes_per_shift: number;
  rests_on: { field: string; value: number; kind: string; low: number | null; high: number | null; origin: string }[];
  findings: Finding[];
  cautions: string[];
}

export interface Leg {
  part: string;
  first_turn: number;
  last_turn: number;
  first_edge_m: number;
  last_edge_m: number;
  width_m: number;
}

export interface BenchView {
  prediction: Prediction;
  legs: Leg[];
  outline: { vertices_m: [number, number][]; corner_radius_m: number };
  load: {
    height_m: number;
    tiers: number;
    deck_height_m: number;
    offset_m: [number, number];
    pallet_length_m: number | null;
    pallet_width_m: number | null;
  };
  machine: { kind: "turntable" | "rotary arm" | "ring"; exit_distance_m: number; turning_speed_rad_per_s: number };
  turn: { angle_rad: number[]; film_speed_m_per_s: number[]; free_span_m: number[]; touched_vertex: number[] };
}

/** The leg that a turn belongs to. */
export function legAt(legs: Leg[], turn: number): Leg {
  const found = legs.find((leg) => turn < leg.last_turn) ?? legs.at(-1);
  if (!found) throw new Error("a program has at least one leg");
  return found;
}

/** Height of the film's lower edge over the deck at a turn [m]. */
export function edgeAt(leg: Leg, turn: number): number {
  const length = leg.last_turn - leg.first_turn;
  const share = length > 0 ? Math.min(1, Math.max(0, (turn - leg.first_turn) / length)) : 0;
  return leg.first_edge_m + share * (leg.last_edge_m - leg.first_edge_m);
}
