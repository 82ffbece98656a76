/** Threads from each slider to where on the body it moves most, on both sides where it does; drawn over the field while the whole body is seen. */

import { Vector3 } from "three";
import type { Context } from "../context.ts";
import { BODY } from "../stage/stage.ts";
import type { Sliders } from "./sliders.ts";

const DOT = 4;
const SMALL_DOT = 2;
const FADES_FROM = 0.25;
const place = new Vector3();

export function drawThreads(canvas: HTMLCanvasElement, context: Context, sliders: Sliders): void {
  const pen = canvas.getContext("2d");
  const frame = canvas.getBoundingClientRect();
  if (!pen || !frame.width) return;
  fit(canvas, pen, frame);
  const picture = context.stage.canvas.getBoundingClientRect();
  const style = getComputedStyle(canvas);
  const chalk = style.getPropertyValue("--chalk"), colour = style.getPropertyValue("--thread");
  const { about, slider: active, comparison } = context.store.now;
  if (comparison || !context.stage.orbit.isFar) return; // near by they would lie over what is looked at
  const ends = [...about.sliders, ...about.joint_sliders].map((one) => one.ends);
  const skin = context.stage.surfaces.get(BODY)?.points;
  if (!skin) return;
  sliders.rows.forEach((row, k) => {
    if (row.hidden || (active !== null && active !== k)) return;
    const box = row.getBoundingClientRect();
    if (box.bottom < frame.top || box.top > frame.bottom || !box.width) return;
    const isLeft = box.left < picture.left + picture.width / 2;
    const fromX = (isLeft ? box.right + 4 : box.left - 4) - frame.left;
    const fromY = box.top + 11 - frame.top;
    for (const vertex of ends[k] ?? []) thread(k, fromX, fromY, vertex);
  });

  function thread(k: number, fromX: number, fromY: number, vertex: number): void {
    if (!pen || !skin) return;
    place.fromArray(skin, 3 * vertex).project(context.stage.orbit.camera);
    const toX = picture.left - frame.left + ((place.x + 1) / 2) * picture.width;
    const toY = picture.top - frame.top + ((1 - place.y) / 2) * picture.height;
    if (toY < 0 || toY > picture.height || toX < picture.left - frame.left || toX > picture.right - frame.left) return;
    const isActive = active === k;
    pen.strokeStyle = isActive ? chalk : fading(pen, fromX, toX, colour);
    pen.fillStyle = isActive ? chalk : colour;
    pen.lineWidth = isActive ? 1.5 : 1;
    pen.beginPath();
    pen.moveTo(fromX, fromY);
    const bend = fromX + 0.35 * (toX - fromX);
    pen.bezierCurveTo(bend, fromY, bend, toY, toX, toY);
    pen.stroke();
    pen.beginPath();
    pen.arc(toX, toY, isActive ? DOT : SMALL_DOT, 0, 2 * Math.PI);
    pen.fill();
  }
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
