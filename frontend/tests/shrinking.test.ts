/** Photos keep their shape when they are made smaller. */

import { expect, it } from "vitest";
import { fitted } from "../src/trial/shrinking";

it.each([
  // 4:3 and 3:4 photos of phones, a panorama, and one that is small enough.
  [4032, 3024, 2048, 1536],
  [3024, 4032, 1536, 2048],
  [20000, 100, 2048, 10],
  [800, 600, 800, 600],
  [0, 0, 1, 1],
])("%i x %i becomes %i x %i", (width, height, smallWidth, smallHeight) => {
  expect(fitted(width, height)).toEqual({ width: smallWidth, height: smallHeight });
});
