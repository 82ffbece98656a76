/** Threads from each slider to where on the body it moves most, to both sides once it is pointed at; drawn over the field while the whole body is seen. */

import { Vector3 } from "three";
import type { Context } from "../context.ts";
import { BODY } from "../stage/stage.ts";
import type { Sliders } from "./sliders.ts";

const DOT = 4;
const SMALL_DOT = 2;
const FADES_FROM = 0.25;
const place = new Vector3();

export function drawThreads(canvas: HTMLCanvasElement, context: Context, sliders: Sliders): void {
  const { about, slider: active, comparison } = context.store.now;
  const skin = context.stage.surfaces.get(BODY)?.points;
  // Hidden, not only cleared: a browser may show again what it once drew.
  canvas.hidden = !skin || comparison !== null || !context.stage.orbit.isFar; // near by they would lie over what is looked at
  if (canvas.hidden || !skin) return;
  const pen = canvas.getContext("2d");
  const frame = canvas.getBoundingClientRect();
  if (!pen || !frame.width) return;
  fit(canvas, pen, frame);
  const picture = context.stage.canvas.getBoundingClientRect();
  const style = getComputedStyle(canvas);
  const chalk = style.getPropertyValue("--chalk"), colour = style.getPropertyValue("--thread");
  const ends = [...about.sliders, ...about.joint_sliders].map((one) => one.ends);
  sliders.rows.forEach((row, k) => {
    if (row.hidden || (active !== null && active !== k)) return;
    const box = row.getBoundingClientRect();
    if (box.bottom < frame.top || box.top > frame.bottom || !box.width) return;
    const isLeft = box.left < picture.left + picture.width / 2;
    const fromX = (isLeft ? box.right + 4 : box.left - 4) - frame.left;
    const fromY = box.top + 11 - frame.top;
    const places = (ends[k] ?? []).map(onPage).filter((to) => to !== null);
    places.sort((one, other) => Math.abs(one.x - fromX) - Math.abs(other.x - fromX));
    const isActive = active === k;
    places.forEach((to, i) => {
      pen.strokeStyle = isActive ? chalk : fading(pen, fromX, to.x, colour);
      pen.fillStyle = isActive ? chalk : colour;
      pen.lineWidth = isActive ? 1.5 : 1;
      pen.beginPath();
      if (i === 0 || isActive) run(pen, { x: fromX, y: fromY }, to); // the other side's thread would cross the body
      pen.stroke();
      pen.beginPath();
      pen.arc(to.x, to.y, isActive ? DOT : SMALL_DOT, 0, 2 * Math.PI);
      pen.fill();
    });
  });

  /** Where a vertex of the body now is in the field; null outside the picture. */
  function onPage(vertex: number): Spot | null {
    place.fromArray(skin!, 3 * vertex).project(context.stage.orbit.camera);
    const x = picture.left - frame.left + ((place.x + 1) / 2) * picture.width;
    const y = picture.top - frame.top + ((1 - place.y) / 2) * picture.height;
    const isInside = y >= 0 && y <= picture.height && x >= picture.left - frame.left && x <= picture.right - frame.left;
    return isInside ? { x, y } : null;
  }
}

interface Spot {
  readonly x: number;
  readonly y: number;
}

function run(pen: CanvasRenderingContext2D, from: Spot, to: Spot): void {
  const bend = from.x + 0.35 * (to.x - from.x);
  pen.moveTo(from.x, from.y);
  pen.bezierCurveTo(bend, from.y, bend, to.y, to.x, to.y);
}

/** A thread that is lost before it crosses the body, so that it hides nothing. */
function fading(pen: CanvasRenderingContext2D, from: number, to: number, colour: string): CanvasGradient {
  const gradient = pen.createLinearGradient(from, 0, to, 0);
  gradient.addColorStop(0, colour);
  gradient.addColorStop(FADES_FROM, colour);
  gradient.addColorStop(1, "transparent");
  return gradient;
}

function fit(canvas: HTMLCanvasElement, pen: CanvasRenderingContext2D, frame: DOMRect): void {
  const pixels = Math.min(devicePixelRatio, 2);
  const width = Math.round(frame.width * pixels), height = Math.round(frame.height * pixels);
  if (canvas.width !== width || canvas.height !== height) {
    canvas.width = width;
    canvas.height = height;
  }
  pen.setTransform(pixels, 0, 0, pixels, 0, 0);
  pen.clearRect(0, 0, frame.width, frame.height);
}
