/** Packs: a JSON header and named arrays in one block of bytes. The twin of `report/page/pack.py`. */

export type Numbers = Float32Array | Int16Array | Uint16Array | Uint8Array | Uint32Array | Int32Array;

export interface PackArray {
  readonly data: Numbers;
  readonly shape: readonly number[];
  /** Real value = stored × scale + offset. */
  readonly scale: number;
  readonly offset: number;
}

export interface Pack<Header = Readonly<Record<string, unknown>>> {
  readonly kind: string;
  readonly header: Header;
  readonly arrays: ReadonlyMap<string, PackArray>;
}

interface Entry {
  name: string;
  dtype: string;
  shape: number[];
  at: number;
  bytes: number;
  scale?: number;
  offset?: number;
}

const LENGTH_BYTES = 4;
const ALIGNMENT = 8;

const READERS: Record<string, (buffer: ArrayBuffer, at: number, count: number) => Numbers> = {
  f4: (buffer, at, count) => new Float32Array(buffer, at, count),
  i2: (buffer, at, count) => new Int16Array(buffer, at, count),
  u2: (buffer, at, count) => new Uint16Array(buffer, at, count),
  u1: (buffer, at, count) => new Uint8Array(buffer, at, count),
  u4: (buffer, at, count) => new Uint32Array(buffer, at, count),
  i4: (buffer, at, count) => new Int32Array(buffer, at, count),
};

export class PackError extends Error {}

/** Read a pack; its arrays are views of `buffer`, nothing is copied. */
export function readPack(buffer: ArrayBuffer): Pack {
  if (buffer.byteLength < LENGTH_BYTES) throw new PackError("The data end before their header.");
  const length = new DataView(buffer).getUint32(0, true);
  const start = LENGTH_BYTES + length + padding(LENGTH_BYTES + length);
  if (LENGTH_BYTES + length > buffer.byteLength) throw new PackError("The data end inside their header.");
  const text = new TextDecoder("utf-8", { fatal: true }).decode(new Uint8Array(buffer, LENGTH_BYTES, length));
  const header = JSON.parse(text) as Record<string, unknown> & { kind: string; arrays?: Entry[] };
  const arrays = new Map<string, PackArray>();
  for (const entry of header.arrays ?? []) arrays.set(entry.name, readArray(buffer, start, entry));
  return { kind: header.kind, header, arrays };
}

function readArray(buffer: ArrayBuffer, start: number, entry: Entry): PackArray {
  const reader = READERS[entry.dtype];
  if (!reader) throw new PackError(`The array ${entry.name} has the unknown type ${entry.dtype}.`);
  const count = entry.shape.reduce((product, size) => product * size, 1);
  if (start + entry.at + entry.bytes > buffer.byteLength) {
    throw new PackError(`The data end inside the array ${entry.name}.`);
  }
  const data = reader(buffer, start + entry.at, count);
  if (data.byteLength !== entry.bytes) throw new PackError(`The array ${entry.name} has another size than its shape.`);
  return { data, shape: entry.shape, scale: entry.scale ?? 1, offset: entry.offset ?? 0 };
}

function padding(length: number): number {
  return (ALIGNMENT - (length % ALIGNMENT)) % ALIGNMENT;
}

/** The array as real numbers; float arrays without scale are not copied. */
export function reals(array: PackArray): Float32Array {
  const { data, scale, offset } = array;
  if (data instanceof Float32Array && scale === 1 && offset === 0) return data;
  const out = new Float32Array(data.length);
  for (let i = 0; i < data.length; i++) out[i] = data[i] * scale + offset;
  return out;
}

/** The array as whole numbers, for triangles and indices. */
export function indices(array: PackArray): Uint32Array {
  return array.data instanceof Uint32Array ? array.data : Uint32Array.from(array.data);
}

/** Bytes of a base64 text of raw deflate, inflated by the browser itself. */
export async function inflate(text: string): Promise<ArrayBuffer> {
  const bytes = Uint8Array.from(atob(text.trim()), (letter) => letter.charCodeAt(0));
  const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("deflate-raw"));
  return new Response(stream).arrayBuffer();
}
