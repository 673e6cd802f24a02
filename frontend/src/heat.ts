/** Layers of film over the unrolled side of the load, counted point by point, and their shades. */

import type { LegShape } from "./generated/api";

/** Light to dark, so that a grey print or screen tells them apart: bare, 1, 2, ... and more. */
export const SHADES = ["#f7f2e6", "#dbe7df", "#b5d1cf", "#86b4bd", "#5891a6", "#366d8a", "#1f4a69", "#122c45"];

export function shadeOf(layers: number): string {
  return SHADES[Math.min(layers, SHADES.length - 1)] as string;
}

/** Passes of film per cell, row by row from the bottom, until a turn. */
export function countLayers(
  legs: LegShape[],
  until: number,
  columns: number,
  rows: number,
  bottom: number,
  top: number,
): Uint8Array {
  const counts = new Uint8Array(columns * rows);
  for (const leg of legs) {
    const last = Math.min(leg.last_turn, until);
    const slope =
      leg.last_turn > leg.first_turn ? (leg.last_edge_m - leg.first_edge_m) / (leg.last_turn - leg.first_turn) : 0;
    for (let column = 0; column < columns; column += 1) {
      const place = (column + 0.5) / columns;
      for (let turn = Math.ceil(leg.first_turn - place) + place; turn < last; turn += 1) {
        const edge = leg.first_edge_m + slope * (turn - leg.first_turn);
        const scale = rows / (top - bottom);
        const from = Math.max(0, Math.ceil((edge - bottom) * scale - 0.5));
        const to = Math.min(rows - 1, Math.floor((edge + leg.width_m - bottom) * scale - 0.5));
        for (let row = from; row <= to; row += 1) {
          const index = row * columns + column;
          counts[index] = (counts[index] as number) + 1;
        }
      }
    }
  }
  return counts;
}
