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
  Vector3,
} from "three";
import type { Dressed, LaidPicture } from "../data/dressed.ts";
import { vertexNormals } from "../data/normals.ts";
import { LINEAR_OF_BYTE } from "../draw/colour.ts";
import { paint, type Scale } from "../draw/scale.ts";
import { DrawnVertices, reach } from "./drawn_vertices.ts";
import { makeFabric, pictureOn } from "./fabric.ts";
import { hems } from "./hems.ts";
import type { Bounds } from "./orbit.ts";

const HEM = "#2b2f3a";
/** A hem is drawn a thousandth nearer than it is. Drawing the cloth farther away instead would put it under the skin. */
const NEARER = "#include <project_vertex>\nmvPosition.xyz *= 0.999;\ngl_Position = projectionMatrix * mvPosition;";
const SKIN_READ = new Color(1, 1, 1);
const SKIN_UNREAD = new Color(0.42, 0.47, 0.56); // skin beside cloth whose colours are read: both were pale

export interface Look {
  readonly roughness: number;
  readonly bothSides: boolean;
  /** Whether it is cloth: woven, with hems. */
  readonly isCloth: boolean;
}

/** The pictures of a garment's file with their images, decoded; null for one that cannot be read. */
export interface Pictures {
  readonly dressed: Dressed;
  readonly images: readonly (ImageBitmap | null)[];
}

/** What is read off the surfaces as colour, if anything. */
export type Reading = "cloth" | "body" | null;

export class Surface {
  readonly faces: Uint32Array;
  readonly points: Float32Array;
  readonly normals: Float32Array;
  readonly mesh: Mesh<BufferGeometry, MeshStandardMaterial[]>;
  readonly #drawn: DrawnVertices;
  readonly #colours: Float32Array;
  readonly #plain: Float32Array;
  readonly #hem: LineSegments | null = null;
  readonly #look = { worn: { value: 1 }, lined: { value: 1 } };
  /** Values of the layer that is shown, or null. */
  values: Float32Array | null = null;
  /** Whether it stands at the shape that is shown; until then it is not drawn. */
  isPlaced = false;

  constructor(faces: Uint32Array, base: Float32Array, plain: Float32Array, look: Look, pictures: Pictures | null = null) {
    this.faces = faces;
    this.points = base.slice();
    this.normals = new Float32Array(base.length);
    this.#plain = plain;
    this.#colours = plain.slice();
    const shown = pictures?.images.every((image) => image) ? pictures : null; // else vertices have their mean colours
    this.#drawn = new DrawnVertices(this.points, this.normals, this.#colours, faces, shown?.dressed ?? null);
    const { geometry } = this.#drawn;
    const materials = [null, ...(shown?.dressed.laid ?? [])].map((laid) => this.#material(look, laid, shown));
    if (!geometry.groups.length) geometry.addGroup(0, faces.length, 0);
    this.mesh = new Mesh(geometry, materials);
    if (look.isCloth) {
      const normals = new Float32Array(base.length);
      vertexNormals(base, faces, normals);
      this.#drawn.fix("rest", base.slice());
      this.#drawn.fix("restNormal", normals);
      this.#hem = hemOf(faces, this.points);
      this.mesh.add(this.#hem);
    }
    this.mesh.castShadow = true;
    this.mesh.receiveShadow = true;
    this.#drawn.coloured(true);
    this.moveTo(base);
  }

  #material(look: Look, laid: LaidPicture | null, pictures: Pictures | null): MeshStandardMaterial {
    const side = look.bothSides ? DoubleSide : FrontSide;
    const image = laid && pictures?.images[laid.image];
    const material = new MeshStandardMaterial({ vertexColors: true, roughness: look.roughness, side });
    material.shadowSide = DoubleSide;
    if (laid && image) {
      material.map = pictureOn(image, laid);
      material.alphaTest = laid.cut;
    }
    if (look.isCloth) makeFabric(material, this.#look, laid);
    return material;
  }

  /** Stand at other vertices. */
  moveTo(points: Float32Array): void {
    this.points.set(points);
    vertexNormals(this.points, this.faces, this.normals);
    this.#drawn.moved();
    if (this.#hem) this.#hem.geometry.getAttribute("position").needsUpdate = true;
  }

  /** Show values by a scale, or the surface's own colours. */
  show(values: Float32Array | null, scale: Scale | null): void {
    this.values = values;
    if (values && scale) paint(scale, values, this.#colours);
    else this.#colours.set(this.#plain);
    this.#look.lined.value = values ? 0 : 1;
    this.#drawn.coloured(!values && this.#look.worn.value === 1);
  }

  /** Where colours are read, cloth is not woven, its hems part it from what lies under it, and plain skin steps back. */
  read(what: Reading): void {
    this.#look.worn.value = what === null ? 1 : 0;
    if (this.#hem) this.#hem.visible = what !== null;
    else for (const material of this.mesh.material) material.color.copy(what === "cloth" ? SKIN_UNREAD : SKIN_READ);
    if (!this.values) this.#drawn.coloured(what === null);
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
    for (const material of this.mesh.material) {
      material.map?.dispose();
      material.dispose();
    }
  }
}

/** The edges at which a cloth ends, as lines that move with it. */
function hemOf(faces: Uint32Array, points: Float32Array): LineSegments {
  const geometry = new BufferGeometry();
  geometry.setAttribute("position", new BufferAttribute(points, 3).setUsage(DynamicDrawUsage));
  geometry.setIndex(new BufferAttribute(hems(faces), 1));
  geometry.boundingSphere = reach();
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
