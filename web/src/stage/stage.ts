/** The stage: body and cloth, drawn once or twice (compared) with one camera, whenever something has changed. */

import { ACESFilmicToneMapping, PCFShadowMap, Scene, Vector3, WebGLRenderer } from "three";
import type { BodyMesh, Cloth } from "../data/meshes.ts";
import type { Followed } from "../data/source.ts";
import type { Scale } from "../draw/scale.ts";
import type { Comparison } from "../state.ts";
import { Light } from "./light.ts";
import { Outline } from "./outline.ts";
import { aroundAll, Orbit, type Bounds } from "./orbit.ts";
import { freeAspect, passesOf, type Pass, type Room } from "./passes.ts";
import { nearestHit, type Hit } from "./pick.ts";
import { evenly, fromBytes, Surface, type Pictures, type Reading } from "./surface.ts";
import { QualityWatch } from "./quality.ts";

const SKIN = "#c9b7a3"; // unbleached linen over a form, not anybody's skin
const CLOTH_COLOURS: readonly string[] = ["#6f8196", "#97806b", "#7d8a72", "#8c7589", "#a3946d", "#71888a"];
const BODY_LOOK = { roughness: 0.82, bothSides: false, isCloth: false };
const CLOTH_LOOK = { roughness: 0.9, bothSides: true, isCloth: true };
const MAX_PIXELS = 2; // per CSS pixel: more cannot be told apart and costs a frame

export const BODY = "";

export interface Pick {
  /** Key of the garment, or `BODY`. */
  readonly key: string;
  readonly hit: Hit;
  readonly position: Vector3;
}

export class Stage {
  readonly canvas: HTMLCanvasElement;
  readonly orbit: Orbit;
  readonly light = new Light();
  readonly surfaces = new Map<string, Surface>();
  readonly #renderer: WebGLRenderer;
  readonly #scene = new Scene();
  readonly #outline = new Outline();
  #worn: readonly string[] = [];
  #comparison: Comparison | null = null;
  #reading: Reading = null;
  #waiting = false;
  #askedAt = 0;
  readonly #quality = new QualityWatch();
  #stature = 1.7;
  #margin = 0;
  /** Milliseconds of the last frame: waited for, until all of it was given to the renderer, and for what lies over it. */
  readonly spent = { waited: 0, placed: 0, drawn: 0, over: 0 };
  /** Called before each drawn frame, to bring the shape up to date. */
  beforeFrame: () => void = () => undefined;
  /** Called after each drawn frame, for what is drawn over it. */
  afterFrame: () => void = () => undefined;

  constructor(canvas: HTMLCanvasElement, calm: () => boolean) {
    this.canvas = canvas;
    this.#renderer = new WebGLRenderer({ canvas, antialias: true, alpha: true, preserveDrawingBuffer: false });
    this.#renderer.setClearAlpha(0);
    this.#renderer.autoClear = false;
    this.#renderer.toneMapping = ACESFilmicToneMapping;
    this.#renderer.toneMappingExposure = 1.02;
    this.#renderer.shadowMap.enabled = true;
    this.#renderer.shadowMap.type = PCFShadowMap;
    this.orbit = new Orbit(() => this.request(), calm);
    this.#scene.add(this.light.group, this.#outline.group);
  }

  /** Draw a frame soon; however often it is asked for, once. */
  request(): void {
    if (this.#waiting) return;
    this.#waiting = true;
    this.#askedAt = performance.now();
    requestAnimationFrame((now) => this.#frame(now));
  }

  setBody(body: BodyMesh, stature: number): void {
    this.#stature = stature;
    this.#put(BODY, new Surface(body.faces, body.base, evenly(body.base.length / 3, SKIN), BODY_LOOK));
  }

  setCloth(cloth: Cloth, index: number, images: Pictures["images"]): void {
    const colour = CLOTH_COLOURS[index % CLOTH_COLOURS.length];
    const plain = cloth.colours ? fromBytes(cloth.colours) : evenly(cloth.base.length / 3, colour);
    const pictures = cloth.dressed && { dressed: cloth.dressed, images };
    this.#put(cloth.key, new Surface(cloth.faces, cloth.base, plain, CLOTH_LOOK, pictures));
  }

  wear(worn: readonly string[], comparison: Comparison | null): void {
    const isNewlyLaid = comparison?.mode !== this.#comparison?.mode;
    this.#worn = worn;
    this.#comparison = comparison;
    if (isNewlyLaid && (this.orbit.isFramed || comparison?.mode === "beside")) this.home();
    else if (this.orbit.isFramed && !this.orbit.holds(this.#whole())) this.home();
    this.request();
  }

  moveTo(followed: Followed): void {
    const start = performance.now();
    this.#place(BODY, followed.body);
    for (const [key, points] of followed.cloths) this.#place(key, points);
    this.spent.placed = performance.now() - start;
    this.request();
  }

  #place(key: string, points: Float32Array): void {
    const surface = this.surfaces.get(key);
    if (surface?.points.length !== points.length) return;
    surface.moveTo(points);
    surface.isPlaced = true;
  }

  show(key: string, values: Float32Array | null, scale: Scale | null): void {
    this.surfaces.get(key)?.show(values, scale);
    this.request();
  }

  /** What is read off the surfaces as colour from now on. */
  read(what: Reading): void {
    this.#reading = what;
    this.light.readColours(what !== null);
    for (const surface of this.surfaces.values()) surface.read(what);
  }

  /** Draw the outlines of these bodies over what is shown; none clears them. */
  showOutline(bodies: readonly Float32Array[], isDark: boolean): void {
    const faces = this.surfaces.get(BODY)?.faces;
    if (!faces) return;
    this.#outline.show(bodies, faces, isDark);
    this.request();
  }

  /** Take a new size, with so many pixels left and right that something else lies over. */
  resize(width: number, height: number, margin: number): void {
    this.#margin = margin;
    this.#renderer.setPixelRatio(this.#quality.quality === "full" ? Math.min(devicePixelRatio, MAX_PIXELS) : 1);
    this.#renderer.setSize(width, height, false);
    if (this.orbit.isFramed) this.home(this.orbit.azimuth, true); // what was whole stays whole
    this.orbit.update(performance.now());
    this.#draw(); // a new size empties the picture: not one frame without the body
    this.request();
  }

  /** Show the whole body, dressed, from an azimuth; at once, or gliding. */
  home(azimuth = this.orbit.azimuth, atOnce = false): void {
    if (this.surfaces.has(BODY)) this.orbit.frame(this.#whole(), azimuth, this.#aspect(), atOnce);
  }

  /** The box that holds the body and all that it wears: a hat or a train is part of the whole. */
  #whole(): Bounds {
    const keys = [BODY, ...this.#passes().flatMap((pass) => pass.keys)];
    return aroundAll(keys.flatMap((key) => this.surfaces.get(key)?.bounds() ?? []));
  }

  /** Show a garment as large as fits, or the whole body where it is not drawn. */
  frameGarment(key: string): void {
    const cloth = this.surfaces.get(key);
    if (!cloth) this.home();
    else this.orbit.glideToBounds(cloth.bounds(), this.orbit.azimuth, this.#aspect());
  }

  #aspect(): number {
    return freeAspect(this.#passes()[0], this.#room(), this.canvas.clientHeight);
  }

  /** What is under a place of the canvas, nearest first. */
  pick(x: number, y: number): Pick | null {
    const height = this.canvas.clientHeight;
    const passes = this.#passes();
    const pass = passes.find((each) => x >= each.from && x < each.to) ?? passes[0];
    const camera = this.orbit.camera;
    camera.aspect = pass.width / height;
    camera.updateProjectionMatrix();
    const far = new Vector3((2 * (x - pass.left)) / pass.width - 1, 1 - (2 * y) / height, 0.5).unproject(camera);
    const direction = far.sub(camera.position).normalize();
    const origin = camera.position.toArray(), along = direction.toArray();
    const hit: Hit = { face: 0, distance: Infinity, u: 0, v: 0 };
    let key: string | null = null;
    for (const name of [BODY, ...pass.keys]) {
      const surface = this.surfaces.get(name);
      if (surface && nearestHit(origin, along, surface.points, surface.faces, hit.distance, hit)) key = name;
    }
    if (key === null) return null;
    return { key, hit, position: camera.position.clone().addScaledVector(direction, hit.distance) };
  }

  /** What is seen, as the address of a PNG, at once. */
  still(): string {
    this.#draw();
    return this.canvas.toDataURL("image/png");
  }

  /** A PNG of what is seen. */
  picture(): Promise<Blob> {
    this.#draw();
    return new Promise((done, fail) =>
      this.canvas.toBlob((blob) => (blob ? done(blob) : fail(new Error("The browser gave no picture."))), "image/png"),
    );
  }

  /** Frames come late: draw fewer pixels, then no shadow. */
  #drawLess(): void {
    this.#renderer.setPixelRatio(1);
    this.light.setShadow(this.#quality.quality);
  }

  #frame(now: number): void {
    this.#waiting = false;
    this.spent.waited = performance.now() - this.#askedAt;
    if (this.#quality.note(this.spent.waited)) this.#drawLess();
    this.beforeFrame();
    const glides = this.orbit.update(now);
    const start = performance.now();
    this.#draw();
    const drawn = performance.now();
    this.afterFrame();
    this.spent.drawn = drawn - start;
    this.spent.over = performance.now() - drawn;
    if (glides) this.request();
  }

  /** Milliseconds that the renderer takes for what is shown, waited for until its pixels can be read. */
  timeDrawing(): number {
    const gl = this.#renderer.getContext();
    const pixel = new Uint8Array(4);
    const wait = () => gl.readPixels(0, 0, 1, 1, gl.RGBA, gl.UNSIGNED_BYTE, pixel);
    wait();
    const start = performance.now();
    this.#draw();
    wait();
    return performance.now() - start;
  }

  #draw(): void {
    const { clientWidth: width, clientHeight: height } = this.canvas;
    if (!width || !height) return;
    this.light.place(this.#stature, this.orbit.azimuth);
    this.#renderer.setScissorTest(false);
    this.#renderer.clear();
    this.#renderer.setScissorTest(true);
    for (const pass of this.#passes()) {
      for (const [key, surface] of this.surfaces) {
        surface.mesh.visible = surface.isPlaced && (key === BODY || pass.keys.includes(key));
      }
      this.#renderer.setViewport(pass.left, 0, pass.width, height);
      this.#renderer.setScissor(pass.from, 0, pass.to - pass.from, height);
      this.orbit.camera.aspect = pass.width / height;
      this.orbit.camera.updateProjectionMatrix();
      this.#renderer.render(this.#scene, this.orbit.camera);
    }
  }

  #room(): Room {
    return { width: this.canvas.clientWidth, margin: this.#margin };
  }

  #passes(): Pass[] {
    return passesOf(this.#comparison, this.#worn, this.#room());
  }

  /** Until it is followed anew, a mesh that was made again stands where it stood. */
  #standLike(old: Surface, surface: Surface): void {
    if (old.points.length !== surface.points.length) return;
    surface.moveTo(old.points);
    surface.isPlaced = true;
  }

  #put(key: string, surface: Surface): void {
    const old = this.surfaces.get(key);
    if (old) {
      if (old.isPlaced) this.#standLike(old, surface);
      this.#scene.remove(old.mesh);
      old.dispose();
    }
    surface.read(this.#reading);
    this.surfaces.set(key, surface);
    this.#scene.add(surface.mesh);
    this.request();
  }
}
