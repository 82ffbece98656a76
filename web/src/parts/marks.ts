/** The mark of a severity: a pin's head that fills up. Its word stands beside it, so colour is never all. */

import { SEVERITIES, type Severity } from "../data/about.ts";
import { svg } from "../dom.ts";

const RADIUS = 5;

export function mark(severity: Severity): SVGElement {
  const share = Math.max(0, SEVERITIES.indexOf(severity) - 1) / (SEVERITIES.length - 2);
  const size = 2 * RADIUS + 2;
  const middle = size / 2;
  return svg(
    "svg",
    { class: `mark ${severity || "unknown"}`, width: size, height: size, viewBox: `0 0 ${size} ${size}`, "aria-hidden": "true" },
    svg("circle", { class: "rim", cx: middle, cy: middle, r: RADIUS }),
    svg("path", { class: "fill", d: filled(middle, RADIUS, share) }),
  );
}

/** A disc filled from below up to a share of its height. */
function filled(middle: number, radius: number, share: number): string {
  if (share <= 0) return "";
  if (share >= 1) return `M${middle - radius},${middle}a${radius},${radius} 0 1,0 ${2 * radius},0a${radius},${radius} 0 1,0 ${-2 * radius},0`;
  const y = middle + radius - 2 * radius * share;
  const half = Math.sqrt(radius * radius - (y - middle) ** 2);
  const large = share > 0.5 ? 1 : 0;
  return `M${middle - half},${y}A${radius},${radius} 0 ${large},0 ${middle + half},${y}Z`;
}

export function severityWords(severity: Severity): string {
  return severity || "not checked";
}
