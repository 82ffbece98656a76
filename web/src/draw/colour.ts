/**
 * Colour scales: straight lines in the OKLab space, the same stops as in `report/pictures/colours.py`.
 *
 * Along a straight line equal steps of value are equal steps of perceived colour. Lightness runs with the value, and
 * hue only between blue and orange, which people with any of the common colour deficiencies tell apart.
 */

export type Lab = readonly [number, number, number];
export type Rgb = readonly [number, number, number];

export const CLOTH_STOPS: readonly Lab[] = [[0.94, 0.0, 0.015], [0.42, 0.01, -0.2]];
export const SKIN_STOPS: readonly Lab[] = [[0.88, 0.01, 0.02], [0.62, 0.14, 0.12]];
export const DIVERGING_STOPS: readonly Lab[] = [[0.48, -0.01, -0.17], [0.94, 0.0, 0.01], [0.58, 0.12, 0.115]];
/** Classes differ in lightness first, so that they stay apart in grey. */
export const CLASS_STOPS: readonly Lab[] = [
  [0.93, 0.0, 0.012], [0.7, 0.0, -0.1], [0.52, 0.11, 0.095], [0.38, 0.0, -0.13], [0.22, 0.0, -0.02],
];

export const STEPS = 256;

export function oklabToLinear([lightness, a, b]: Lab): Rgb {
  const l = (lightness + 0.3963377774 * a + 0.2158037573 * b) ** 3;
  const m = (lightness - 0.1055613458 * a - 0.0638541728 * b) ** 3;
  const s = (lightness - 0.0894841775 * a - 1.2914855480 * b) ** 3;
  return [
    4.0767416621 * l - 3.3077115913 * m + 0.2309699292 * s,
    -1.2684380046 * l + 2.6097574011 * m - 0.3413193965 * s,
    -0.0041960863 * l - 0.7034186147 * m + 1.7076147010 * s,
  ];
}

export function encode(linear: number): number {
  const clipped = Math.min(1, Math.max(0, linear));
  return clipped <= 0.0031308 ? 12.92 * clipped : 1.055 * clipped ** (1 / 2.4) - 0.055;
}

export function decode(value: number): number {
  return value <= 0.04045 ? value / 12.92 : ((value + 0.055) / 1.055) ** 2.4;
}

/** Linear light of a sRGB byte, made once. */
export const LINEAR_OF_BYTE = Float32Array.from({ length: STEPS }, (_, byte) => decode(byte / (STEPS - 1)));

/** A place on evenly spaced stops, 0 to 1. */
export function along(stops: readonly Lab[], place: number): Lab {
  const clipped = Math.min(1, Math.max(0, place)) * (stops.length - 1);
  const first = Math.min(stops.length - 2, Math.floor(clipped));
  const share = clipped - first;
  const [low, high] = [stops[first], stops[first + 1]];
  const mixed = low.map((value, channel) => value + share * (high[channel] - value));
  return [mixed[0], mixed[1], mixed[2]];
}

/** Linear light of the whole scale, `STEPS` × 3, for vertex colours. */
export function ramp(stops: readonly Lab[]): Float32Array {
  const table = new Float32Array(3 * STEPS);
  for (let step = 0; step < STEPS; step++) {
    const colour = oklabToLinear(along(stops, step / (STEPS - 1)));
    for (let channel = 0; channel < 3; channel++) table[3 * step + channel] = Math.min(1, Math.max(0, colour[channel]));
  }
  return table;
}

export function css(lab: Lab): string {
  const bytes = oklabToLinear(lab).map((channel) => Math.round(255 * encode(channel)));
  return `rgb(${bytes.join(" ")})`;
}

/** A CSS gradient of the scale. */
export function gradient(stops: readonly Lab[], towards = "right"): string {
  const steps = 12;
  const colours = Array.from({ length: steps + 1 }, (_, i) => css(along(stops, i / steps)));
  return `linear-gradient(to ${towards}, ${colours.join(", ")})`;
}
