/** Writes a length back in the unit in which it was typed. */

/** Metres in a unit, and decimals that keep half a millimetre. */
const UNITS: Record<string, [number, number]> = {
  mm: [1e-3, 0],
  cm: [1e-2, 1],
  m: [1, 3],
  in: [0.0254, 2],
  ft: [0.3048, 3],
};

/** Text of a length [m], in the unit of `typed`; in millimetres where that has none that is known. */
export function lengthLike(typed: string, metres: number): string {
  const unit = /[A-Za-z]+\s*$/.exec(typed)?.[0].trim() ?? "mm";
  const [size, decimals] = UNITS[unit] ?? [1e-3, 0];
  return `${Number((metres / size).toFixed(decimals))} ${unit in UNITS ? unit : "mm"}`;
}
