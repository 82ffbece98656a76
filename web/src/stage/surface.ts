/** One mesh as it is drawn: arrays made once, filled anew at every shape. */

import {
  BufferAttribute,
  BufferGeometry,
  Color,
  DoubleSide,
  DynamicDrawUsage,
  FrontSide,
  LineBasicMaterial,
  LineSegments,
  Mesh,
  MeshStandardMaterial,
  Sphere,
  Vector3,
} from "three";
import { vertexNormals } from "../data/normals.ts";
import { LINEAR_OF_BYTE } from "../draw/colour.ts";
import { paint, type Scale } from "../draw/scale.ts";
import { makeFabric } from "./fabric.ts";
import { hems } from "./hems.ts";
import type { Bounds } from "./orbit.ts";

const HEM = "#2b2f3a";
/** A hem is drawn a thousandth nearer than it is. Drawing the cloth farther away instead would put it under the skin. */
const NEARER = "#include <project_vertex>\nmvPosition.xyz *= 0.999;\ngl_Position = projectionMatrix * mvPosition;";
const SKIN_READ = new Color(1, 1, 1);
const SKIN_UNREAD = new Color(0.42, 0.47, 0.56); // skin beside cloth whose colours are read: both were pale
const REACH = 4; // metres: no surface of a body leaves this ball, so nothing is culled and no bound is recomputed

export interface Look {
  readonly roughness: number;
  readonly bothSides: boolean;
  /** Whether it is cloth: woven, with hems. */
  readonly isCloth: boolean;
}

/** What is read off the surfaces as colour, if anything. */
export type Reading = "cloth" | "body" | null;

export class Surface {
  readonly faces: Uint32Array;
  readonly points: Float32Array;
  readonly normals: Float32Array;
  readonly mesh: Mesh<BufferGeometry, MeshStandardMaterial>;
  readonly #position: BufferAttribute;
  readonly #normal: BufferAttribute;
  readonly #colour: BufferAttribute;
  readonly #plain: Float32Array;
  readonly #hem: LineSegments | null = null;
  readonly #weave: { value: number } | null = null;
  /** Values of the layer that is shown, or null. */
  values: Float32Array | null = null;
  /** Whether it stands at the shape that is shown; until then it is not drawn. */
  isPlaced = false;

  constructor(faces: Uint32Array, base: Float32Array, plain: Float32Array, look: Look) {
    this.faces = faces;
    this.points = base.slice();
    this.normals = new Float32Array(base.length);
    this.#plain = plain;
    this.#position = dynamic(this.points);
    this.#normal = dynamic(this.normals);
    this.#colour = dynamic(plain.slice());
    const geometry = new BufferGeometry();
    geometry.setAttribute("position", this.#position);
    geometry.setAttribute("normal", this.#normal);
    geometry.setAttribute("color", this.#colour);
    geometry.setIndex(new BufferAttribute(faces, 1));
    geometry.boundingSphere = new Sphere(new Vector3(0, 1, 0), REACH);
    const side = look.bothSides ? DoubleSide : FrontSide;
    const material = new MeshStandardMaterial({ vertexColors: true, roughness: look.roughness, side });
    material.shadowSide = DoubleSide;
    this.mesh = new Mesh(geometry, material);
    if (look.isCloth) {
      const normals = new Float32Array(base.length);
      vertexNormals(base, faces, normals);
      geometry.setAttribute("rest", new BufferAttribute(base.slice(), 3));
      geometry.setAttribute("restNormal", new BufferAttribute(normals, 3));
      this.#weave = makeFabric(material);
      this.#hem = hemOf(faces, this.#position);
      this.mesh.add(this.#hem);
    }
    this.mesh.castShadow = true;
    this.mesh.receiveShadow = true;
    this.moveTo(base);
  }

  /** Stand at other vertices. */
  moveTo(points: Float32Array): void {
    this.points.set(points);
    vertexNormals(this.points, this.faces, this.normals);
    this.#position.needsUpdate = true;
    this.#normal.needsUpdate = true;
  }

  /** Show values by a scale, or the surface's own colours. */
  show(values: Float32Array | null, scale: Scale | null): void {
    this.values = values;
    const colours = this.#colour.array as Float32Array;
    if (values && scale) paint(scale, values, colours);
    else colours.set(this.#plain);
    this.#colour.needsUpdate = true;
  }

  /** Where colours are read, cloth is not woven, its hems part it from what lies under it, and plain skin steps back. */
  read(what: Reading): void {
    if (this.#weave) this.#weave.value = what === null ? 1 : 0;
    if (this.#hem) this.#hem.visible = what !== null;
    else this.mesh.material.color.copy(what === "cloth" ? SKIN_UNREAD : SKIN_READ);
  }

  /** The box that holds it as it stands. */
  bounds(): Bounds {
    const low = new Vector3(Infinity, Infinity, Infinity), high = low.clone().negate();
    const point = new Vector3();
    for (let i = 0; i < this.points.length; i += 3) {
      point.fromArray(this.points, i);
      low.min(point);
      high.max(point);
    }
    return { low, high };
  }

  dispose(): void {
    this.mesh.geometry.dispose();
    this.#hem?.geometry.dispose();
    this.mesh.material.dispose();
  }
}

/** The edges at which a cloth ends, as lines that move with it. */
function hemOf(faces: Uint32Array, position: BufferAttribute): LineSegments {
  const geometry = new BufferGeometry();
  geometry.setAttribute("position", position);
  geometry.setIndex(new BufferAttribute(hems(faces), 1));
  geometry.boundingSphere = new Sphere(new Vector3(0, 1, 0), REACH);
  const material = new LineBasicMaterial({ color: HEM });
  material.onBeforeCompile = (shader) => {
    shader.vertexShader = shader.vertexShader.replace("#include <project_vertex>", NEARER);
  };
  return new LineSegments(geometry, material);
}

/** One colour for every vertex, linear light, from a CSS colour. */
export function evenly(count: number, colour: string): Float32Array {
  const { r, g, b } = new Color(colour);
  const out = new Float32Array(3 * count);
  for (let i = 0; i < out.length; i += 3) {
    out[i] = r;
    out[i + 1] = g;
    out[i + 2] = b;
  }
  return out;
}

/** Linear light of sRGB bytes. */
export function fromBytes(bytes: Uint8Array): Float32Array {
  return Float32Array.from(bytes, (byte) => LINEAR_OF_BYTE[byte]);
}

function dynamic(array: Float32Array): BufferAttribute {
  const attribute = new BufferAttribute(array, 3);
  attribute.setUsage(DynamicDrawUsage);
  return attribute;
}
