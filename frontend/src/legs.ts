/** The film's lower edge as the program lays it, turn by turn. */

import type { LegShape } from "./generated/api";

/** The leg that a turn belongs to. */
export function legAt(legs: LegShape[], turn: number): LegShape {
  const found = legs.find((leg) => turn < leg.last_turn) ?? legs.at(-1);
  if (!found) throw new Error("a program has at least one leg");
  return found;
}

/** Height of the film's lower edge over the deck at a turn [m]. */
export function edgeAt(leg: LegShape, turn: number): number {
  const length = leg.last_turn - leg.first_turn;
  const share = length > 0 ? Math.min(1, Math.max(0, (turn - leg.first_turn) / length)) : 0;
  return leg.first_edge_m + share * (leg.last_edge_m - leg.first_edge_m);
}
