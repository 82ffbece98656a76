/** Pictures of a garment's file: on which triangles they lie, where, and the images themselves. */

import { indices, reals, type Pack } from "./pack.ts";

/** How a picture goes on beyond its edges. */
export type Wrap = "repeated" | "mirrored" | "clamped";

export interface LaidPicture {
  /** Index into the images. */
  readonly image: number;
  /** Linear red, green and blue that it is multiplied by. */
  readonly tint: readonly [number, number, number];
  readonly across: Wrap;
  readonly down: Wrap;
  /** What is less opaque is not drawn; 0 where all is. */
  readonly cut: number;
}

export interface Dressed {
  /** Vertex of the cloth that each drawn vertex is a copy of. */
  readonly sources: Uint32Array;
  /** The cloth's triangles, in their order, by drawn vertices. */
  readonly faces: Uint32Array;
  /** Where each drawn vertex lies in its picture, from the upper left, two numbers each. */
  readonly places: Float32Array;
  /** Of each triangle: 0, or one more than the index into `laid`. */
  readonly facePictures: Uint32Array;
  readonly laid: readonly LaidPicture[];
  /** PNG or JPEG. */
  readonly images: readonly Uint8Array<ArrayBuffer>[];
}

const WRAPS: readonly Wrap[] = ["repeated", "mirrored", "clamped"];
const ROW = 7;

/** The pictures of a garment in a pack, or null where it has none. */
export function readDressed(pack: Pack<object>, prefix: string): Dressed | null {
  const named = (name: string) => pack.arrays.get(`${prefix}drawn/${name}`);
  const sources = named("sources"), faces = named("faces"), places = named("places");
  const pictures = named("pictures"), laid = named("laid");
  if (!sources || !faces || !places || !pictures || !laid) return null;
  const images: Uint8Array<ArrayBuffer>[] = [];
  for (let array = named("image/0"); array; array = named(`image/${images.length}`)) {
    images.push(Uint8Array.from(array.data)); // a copy: the pack may share its buffer with much else
  }
  return {
    sources: indices(sources),
    faces: indices(faces),
    places: reals(places),
    facePictures: indices(pictures),
    laid: rowsOf(reals(laid)),
    images,
  };
}

function rowsOf(values: Float32Array): LaidPicture[] {
  return Array.from({ length: values.length / ROW }, (_, row) => {
    const [image, red, green, blue, across, down, cut] = values.subarray(ROW * row, ROW * (row + 1));
    return { image, tint: [red, green, blue], across: WRAPS[across], down: WRAPS[down], cut };
  });
}

/** The images, decoded by the browser; null for one that it cannot read. */
export function decoded(dressed: Dressed | null): Promise<(ImageBitmap | null)[]> {
  return Promise.all((dressed?.images ?? []).map((bytes) =>
    createImageBitmap(new Blob([bytes]), { premultiplyAlpha: "none", colorSpaceConversion: "none" }).catch(() => null),
  ));
}
