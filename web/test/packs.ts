/** Packs made for tests, as `report/page/pack.py` writes them. */

import type { Numbers } from "../src/data/pack.ts";

const NAMES: Record<string, string> = {
  Float32Array: "f4", Int16Array: "i2", Uint16Array: "u2", Uint8Array: "u1", Uint32Array: "u4", Int32Array: "i4",
};

export function madePack(header: object, arrays: Record<string, Numbers>, more: Record<string, object> = {}): ArrayBuffer {
  let at = 0;
  const entries = Object.entries(arrays).map(([name, data]) => {
    const entry = { name, dtype: NAMES[data.constructor.name], shape: [data.length], at, bytes: data.byteLength, ...more[name] };
    at += padded(data.byteLength);
    return entry;
  });
  const text = new TextEncoder().encode(JSON.stringify({ ...header, arrays: entries }));
  const start = padded(4 + text.length);
  const bytes = new Uint8Array(start + at).fill(32, 4, start);
  new DataView(bytes.buffer).setUint32(0, start - 4, true);
  bytes.set(text, 4);
  entries.forEach(({ at: place }, i) => {
    const { buffer, byteOffset, byteLength } = Object.values(arrays)[i];
    bytes.set(new Uint8Array(buffer as ArrayBuffer, byteOffset, byteLength), start + place);
  });
  return bytes.buffer;
}

function padded(length: number): number {
  return Math.ceil(length / 8) * 8;
}
