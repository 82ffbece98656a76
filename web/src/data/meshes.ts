/** Meshes and morphs as the page keeps them: plain typed arrays, one set per base body. */

import { readDressed, type Dressed } from "./dressed.ts";
import { indices, reals, type Pack, type PackArray } from "./pack.ts";

export interface Mesh {
  readonly faces: Uint32Array;
  readonly base: Float32Array;
  /** Displacement per morph, still quantised, because blending multiplies anyway; null where it moves nothing. */
  readonly deltas: readonly (PackArray | null)[];
}

export interface BodyMesh extends Mesh {
  readonly region: Uint32Array | null;
  readonly regions: readonly string[];
}

/** The three body vertices under each cloth vertex and their shares. */
export interface Feet {
  readonly corners: Uint32Array;
  readonly shares: Float32Array;
}

export interface Cloth extends Mesh {
  readonly key: string;
  /** sRGB per vertex, 0 to 255, or null. */
  readonly colours: Uint8Array | null;
  readonly faceParts: Uint32Array | null;
  /** Pictures of its file, or null. */
  readonly dressed: Dressed | null;
  readonly feet: Feet | null;
}

const LAYER = "layer/";

/** The body of a report: a pack of its own. */
export function readBody(pack: Pack<object>): BodyMesh {
  return bodyFrom(pack, "");
}

/** A garment of a report: a pack of its own. */
export function readCloth(pack: Pack): Cloth {
  return clothFrom(pack, "", "", String(pack.header.garment));
}

/** The body in a live answer, which holds everything. */
export function readLiveBody(pack: Pack<object>): BodyMesh {
  return bodyFrom(pack, "body/");
}

/** A garment in a live answer. */
export function readLiveCloth(pack: Pack<object>, key: string): Cloth {
  return clothFrom(pack, `cloth/${key}/`, `feet/${key}/`, key);
}

/** Layers of a pack by the rest of their array's name: real numbers in the unit of the layer. */
export function readLayers(pack: Pack<object>): Map<string, Float32Array> {
  const found = new Map<string, Float32Array>();
  for (const [name, array] of pack.arrays) {
    if (name.startsWith(LAYER)) found.set(name.slice(LAYER.length), reals(array));
  }
  return found;
}

function bodyFrom(pack: Pack<object>, prefix: string): BodyMesh {
  const region = pack.arrays.get(`${prefix}region`);
  const { regions = [] }: { regions?: string[] } = pack.header;
  return { ...meshFrom(pack, prefix), region: region ? indices(region) : null, regions };
}

function clothFrom(pack: Pack<object>, prefix: string, feet: string, key: string): Cloth {
  const { arrays } = pack;
  const colours = arrays.get(`${prefix}colours`)?.data;
  const parts = arrays.get(`${prefix}parts`);
  const corners = arrays.get(`${feet}corners`);
  const shares = arrays.get(`${feet}shares`);
  return {
    ...meshFrom(pack, prefix),
    key,
    colours: colours instanceof Uint8Array ? colours : null,
    faceParts: parts ? indices(parts) : null,
    dressed: readDressed(pack, prefix),
    feet: corners && shares ? { corners: indices(corners), shares: reals(shares) } : null,
  };
}

function meshFrom(pack: Pack<object>, prefix: string): Mesh {
  const { morphs = [] }: { morphs?: string[] } = pack.header;
  const deltas = morphs.map((_, k) => pack.arrays.get(`${prefix}delta/${k}`) ?? null);
  return { faces: indices(need(pack, `${prefix}faces`)), base: reals(need(pack, `${prefix}base`)), deltas };
}

function need(pack: Pack<object>, name: string): PackArray {
  const array = pack.arrays.get(name);
  if (!array) throw new Error(`The data of ${pack.kind} lack the array ${name}.`);
  return array;
}
