/** The light: a key from the upper left, a fill, a rim from behind, the sky; and the floor that takes the shadow. */

import {
  CircleGeometry,
  DirectionalLight,
  Group,
  HemisphereLight,
  Mesh,
  ShadowMaterial,
} from "three";
import type { Quality } from "./quality.ts";

const SHADOW_PIXELS = 2048;
const KEY = 2.2;
const FILL = 1.0;
const RIM = 1.5;
const SKY = 1.35;
const LIT_SHADOW = 0.16;
const DARK_SHADOW = 0.42;
const REACH = 1.35; // metres round the middle of a body that the shadow covers

export class Light {
  readonly group = new Group();
  readonly #key = new DirectionalLight(0xfff4e6, KEY);
  readonly #fill = new DirectionalLight(0xdfe8f5, FILL);
  readonly #rim = new DirectionalLight(0xf2f5ff, RIM);
  readonly #sky = new HemisphereLight(0xf6f4ef, 0x8d8578, SKY);
  readonly #shadow = new ShadowMaterial({ opacity: LIT_SHADOW });

  constructor() {
    this.#key.castShadow = true;
    const { shadow } = this.#key;
    shadow.mapSize.set(SHADOW_PIXELS, SHADOW_PIXELS);
    shadow.radius = 9;
    shadow.bias = -0.0004;
    shadow.normalBias = 0.012;
    Object.assign(shadow.camera, { left: -REACH, right: REACH, top: REACH, bottom: -REACH, near: 1, far: 9 });
    const floor = new Mesh(new CircleGeometry(2.5, 64), this.#shadow);
    floor.rotation.x = -Math.PI / 2;
    floor.receiveShadow = true;
    this.group.add(this.#key, this.#key.target, this.#fill, this.#rim, this.#sky, floor);
  }

  /** Stand round a body of this stature, turned with the camera so that the front of what is seen is lit. */
  place(stature: number, azimuth: number): void {
    const middle = 0.52 * stature;
    this.#key.target.position.set(0, middle, 0);
    around(this.#key, azimuth - 0.7, 1.7, 2.75 * stature);
    around(this.#fill, azimuth + 0.9, 3.0, 0.95 * stature);
    around(this.#rim, azimuth + 2.75, 2.8, 1.7 * stature);
  }

  /** For reading colours off the surface: less modelling, more even light. */
  readColours(isReading: boolean): void {
    this.#key.intensity = isReading ? 0.95 : KEY;
    this.#fill.intensity = isReading ? 0.45 : FILL;
    this.#rim.intensity = isReading ? 0.35 : RIM;
    this.#sky.intensity = isReading ? 2.35 : SKY;
  }

  /** How fine the shadow is, or whether there is one. */
  setShadow(quality: Quality): void {
    const { shadow } = this.#key;
    this.#key.castShadow = quality !== "lowest";
    shadow.mapSize.setScalar(quality === "full" ? SHADOW_PIXELS : SHADOW_PIXELS / 4);
    shadow.map?.dispose();
    shadow.map = null;
  }

  setDark(isDark: boolean): void {
    this.#shadow.opacity = isDark ? DARK_SHADOW : LIT_SHADOW;
  }
}

function around(light: DirectionalLight, azimuth: number, distance: number, height: number): void {
  light.position.set(distance * Math.sin(azimuth), height, distance * Math.cos(azimuth));
}
