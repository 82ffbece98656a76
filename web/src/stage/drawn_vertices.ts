/** The vertices that are drawn: the mesh's own, or copies of them where the pictures of a file split it. */

import { BufferAttribute, BufferGeometry, DynamicDrawUsage, Sphere, Vector3 } from "three";
import type { Dressed } from "../data/dressed.ts";

const REACH = 4; // metres: no surface of a body leaves this ball, so nothing is culled and no bound is recomputed

export class DrawnVertices {
  readonly geometry = new BufferGeometry();
  readonly #sources: Uint32Array | null;
  /** Which of them a picture lies on; null where none lies on any. */
  readonly isPictured: Uint8Array | null;
  readonly #followed: (readonly [Float32Array, BufferAttribute])[] = [];
  readonly #colours: Float32Array;
  readonly #colour: BufferAttribute;

  /** Draw these arrays, three numbers per vertex, which may change at any time. */
  constructor(points: Float32Array, normals: Float32Array, colours: Float32Array, faces: Uint32Array, dressed: Dressed | null) {
    this.#sources = dressed?.sources ?? null;
    this.isPictured = dressed && pictured(dressed);
    this.#colours = colours;
    this.#colour = this.#attribute(colours);
    for (const [name, values] of [["position", points], ["normal", normals]] as const) {
      const attribute = this.#attribute(values);
      this.geometry.setAttribute(name, attribute);
      this.#followed.push([values, attribute]);
    }
    this.geometry.setAttribute("color", this.#colour);
    if (dressed) {
      this.geometry.setAttribute("uv", new BufferAttribute(dressed.places, 2));
      this.geometry.setIndex(new BufferAttribute(grouped(this.geometry, dressed), 1));
    } else {
      this.geometry.setIndex(new BufferAttribute(faces, 1));
    }
    this.geometry.boundingSphere = reach();
  }

  /** Add an attribute that does not change, three numbers per vertex of the mesh. */
  fix(name: string, values: Float32Array): void {
    this.geometry.setAttribute(name, new BufferAttribute(this.#sources ? copied(values, this.#sources) : values, 3));
  }

  /** Points and normals have changed. */
  moved(): void {
    for (const [values, attribute] of this.#followed) this.#renew(values, attribute);
  }

  /** Colours have changed; under a picture they are white where it is to be seen as it is. */
  coloured(isWorn: boolean): void {
    this.#renew(this.#colours, this.#colour);
    if (!isWorn || !this.isPictured) return;
    const colours = this.#colour.array;
    this.isPictured.forEach((is, i) => {
      if (is) colours[3 * i] = colours[3 * i + 1] = colours[3 * i + 2] = 1;
    });
  }

  #attribute(values: Float32Array): BufferAttribute {
    const attribute = new BufferAttribute(this.#sources ? new Float32Array(3 * this.#sources.length) : values, 3);
    attribute.setUsage(DynamicDrawUsage);
    return attribute;
  }

  #renew(values: Float32Array, attribute: BufferAttribute): void {
    if (this.#sources) copied(values, this.#sources, attribute.array as Float32Array);
    attribute.needsUpdate = true;
  }
}

/** A ball about the place where bodies stand, as a geometry's bound. */
export function reach(): Sphere {
  return new Sphere(new Vector3(0, 1, 0), REACH);
}

/** Three numbers of each source. */
function copied(values: Float32Array, sources: Uint32Array, out: Float32Array = new Float32Array(3 * sources.length)): Float32Array {
  for (let i = 0, to = 0; i < sources.length; i++) {
    const from = 3 * sources[i];
    out[to++] = values[from];
    out[to++] = values[from + 1];
    out[to++] = values[from + 2];
  }
  return out;
}

function pictured({ sources, faces, facePictures }: Dressed): Uint8Array {
  const is = new Uint8Array(sources.length);
  facePictures.forEach((picture, face) => {
    if (picture) for (let corner = 0; corner < 3; corner++) is[faces[3 * face + corner]] = 1;
  });
  return is;
}

/** The triangles picture by picture, each run a group of the geometry with the picture's number as its material. */
export function grouped(geometry: BufferGeometry, { faces, facePictures, laid }: Dressed): Uint32Array {
  const out = new Uint32Array(faces.length);
  let at = 0;
  for (let picture = 0; picture <= laid.length; picture++) {
    const start = at;
    facePictures.forEach((shown, face) => {
      if (shown !== picture) return;
      out.set(faces.subarray(3 * face, 3 * face + 3), at);
      at += 3;
    });
    if (at > start) geometry.addGroup(start, at - start, picture);
  }
  return out;
}
