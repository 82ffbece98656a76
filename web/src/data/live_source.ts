/** The live page's source: one socket to the program that serves it. */

import { readAbout, type About } from "./about.ts";
import { readLayers, readLiveBody, readLiveCloth, type BodyMesh, type Cloth } from "./meshes.ts";
import { reals, type Pack } from "./pack.ts";
import type { Answers, Requests, ShapeAnswer } from "./schema.ts";
import { readProgress, Socket } from "./socket.ts";
import type { Faults, Followed, Progress, ShapeQuery, Source, Task, Trouble } from "./source.ts";

const CLOTH = "cloth/";
/** Layers that no shape changes are asked for one by one. */
const FIXED_LAYERS: readonly string[] = ["certified", "resolution", "strength", "feet"];

export class LiveSource implements Source {
  readonly isLive = true;
  readonly #socket: Socket;
  #about: About | null = null;
  #greeted: ((about: About) => void)[] = [];
  #refused: ((error: Error) => void)[] = [];
  #tellAbout: (about: About) => void = () => undefined;
  #tellTrouble: (trouble: Trouble) => void = () => undefined;
  #tellProgress: (id: number, progress: Progress) => void = () => undefined;
  readonly #bodies = new Map<number, Promise<BodyMesh>>();
  readonly #cloths = new Map<string, Promise<Cloth>>();
  readonly #fixed = new Map<string, Promise<Float32Array | null>>();
  #isFollowing = false;
  #next: Turn | null = null;
  readonly #outlines: Turn[] = [];

  constructor(url: string) {
    this.#socket = new Socket(url);
    this.#socket.onUnasked = (pack) => this.#unasked(pack);
    this.#socket.onOpen = () => {
      this.#tellTrouble(null);
      void this.#goOn();
    };
    this.#socket.onClose = (words) => this.#closed(words);
    this.#socket.open();
  }

  about(): Promise<About> {
    if (this.#about) return Promise.resolve(this.#about);
    return new Promise((greet, refuse) => {
      this.#greeted.push(greet);
      this.#refused.push(refuse);
    });
  }

  onAbout(listener: (about: About) => void): void {
    this.#tellAbout = listener;
  }

  onTrouble(listener: (trouble: Trouble) => void): void {
    this.#tellTrouble = listener;
  }

  onProgress(listener: (id: number, progress: Progress) => void): void {
    this.#tellProgress = listener;
  }

  body(base: number): Promise<BodyMesh> {
    return kept(this.#bodies, base, async () => readLiveBody(await this.#need("meshes", { base, garments: [] })));
  }

  cloth(base: number, key: string): Promise<Cloth> {
    return kept(this.#cloths, `${base}/${key}`, async () =>
      readLiveCloth(await this.#need("meshes", { base, garments: [key] }), key),
    );
  }

  forget(key: string): void {
    for (const kept of [...this.#cloths.keys()]) if (kept.endsWith(`/${key}`)) this.#cloths.delete(kept);
    for (const kept of [...this.#fixed.keys()]) if (kept.endsWith(`/${key}`)) this.#fixed.delete(kept);
  }

  follow(request: ShapeQuery, done: (followed: Followed) => void): void {
    this.#next = { request, done };
    void this.#goOn();
  }

  outline(base: number, weights: readonly number[]): Promise<Float32Array | null> {
    const request = { base, weights, garments: [], pose: null };
    return new Promise((done) => {
      this.#outlines.push({ request, done: ({ body }) => done(body) });
      void this.#goOn();
    });
  }

  async faults(request: ShapeQuery, layers: readonly string[]): Promise<Faults | null> {
    const moving = layers.filter((name) => !FIXED_LAYERS.includes(name));
    const fixed = layers.filter((name) => FIXED_LAYERS.includes(name));
    const asked = { ...request, layers: moving };
    const pack = await this.#socket.request("faults", asked).result;
    if (!pack) return null;
    const found = readLayers(pack);
    for (const name of fixed) {
      for (const key of request.garments) {
        const values = await this.#fixedLayer(request.base, name, key);
        if (values) found.set(`${name}/${key}`, values);
      }
    }
    return {
      layers: found,
      figures: pack.header.figures,
      girths: pack.header.girths,
      severity: pack.header.severity,
      measuredAt: {},
    };
  }

  request<K extends keyof Requests>(what: K, values: Requests[K], onProgress?: (progress: Progress) => void): Task<Answers[K]> {
    return this.#socket.request(what, values, onProgress);
  }

  /** One shape at a time is under way: the newest that is to be shown, else an outline. */
  async #goOn(): Promise<void> {
    if (this.#isFollowing || !this.#socket.isOpen) return;
    this.#isFollowing = true;
    for (let turn = this.#nextTurn(); turn; turn = this.#nextTurn()) {
      try {
        const pack = await this.#socket.request("shape", { ...turn.request }).result;
        if (pack) turn.done(readFollowed(pack));
      } catch (error) {
        if (this.#socket.isOpen) this.#tellTrouble({ words: (error as Error).message, again: null });
      }
    }
    this.#isFollowing = false;
  }

  #nextTurn(): Turn | null {
    const next = this.#next ?? this.#outlines.shift() ?? null;
    this.#next = null;
    return next;
  }

  #fixedLayer(base: number, name: string, key: string): Promise<Float32Array | null> {
    const kind = `${base}/${name}/${key}`;
    return kept(this.#fixed, kind, async () => {
      const pack = await this.#socket.request("layer", { layer: name, base, garment: key }, (progress) =>
        this.#tellProgress(-1, progress),
      ).result;
      return pack ? (readLayers(pack).get(`${name}/${key}`) ?? null) : null;
    });
  }

  async #need<K extends keyof Requests>(what: K, values: Requests[K]): Promise<Pack<Answers[K]>> {
    const pack = await this.#socket.request(what, values).result;
    if (!pack) throw new Error(`The program did not answer "${what}".`);
    return pack;
  }

  #unasked(pack: Pack): void {
    if (pack.kind === "about") this.#hearAbout(readAbout(pack.header));
    if (pack.kind === "progress") this.#tellProgress(Number(pack.header.id), readProgress(pack));
    if (pack.kind === "error") this.#tellTrouble({ words: String(pack.header.words), again: null });
  }

  #hearAbout(about: About): void {
    this.#about = about;
    for (const greet of this.#greeted.splice(0)) greet(about);
    this.#refused = [];
    this.#tellAbout(about);
  }

  #closed(words: string): void {
    for (const refuse of this.#refused.splice(0)) refuse(new Error(words));
    this.#greeted = [];
    this.#tellTrouble({ words, again: () => this.#socket.open() });
  }
}

interface Turn {
  readonly request: ShapeQuery;
  readonly done: (followed: Followed) => void;
}

function readFollowed(pack: Pack<ShapeAnswer>): Followed {
  const cloths = new Map<string, Float32Array>();
  let body: Float32Array = new Float32Array(0);
  for (const [name, array] of pack.arrays) {
    if (name.startsWith(CLOTH)) cloths.set(name.slice(CLOTH.length), reals(array));
    else if (name === "body") body = reals(array);
  }
  return { body, cloths };
}

/** What is kept under a key, made when it is first asked for; what failed is not kept. */
function kept<K, V>(store: Map<K, Promise<V>>, key: K, make: () => Promise<V>): Promise<V> {
  const found = store.get(key);
  if (found) return found;
  const making = make();
  store.set(key, making);
  making.catch(() => store.delete(key));
  return making;
}
