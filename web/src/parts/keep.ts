/** The leaf that keeps: a case with its note, pictures and files, and what all this rests on. */

import { clusterOf, nameOf, shapeWords, type Desk } from "../app/desk.ts";
import { button, h, replace } from "../dom.ts";
import { drawnKeys } from "../state.ts";
import type { About, Place } from "../data/about.ts";
import type { CaseRequest } from "../data/schema.ts";

const SHORT_HASH = 12;

export function makeKeepLeaf(desk: Desk): HTMLElement {
  const { can } = desk.store.now.about;
  const rests = h("div.rests");
  desk.store.watch(["about"], ({ about }) => replace(rests, ...foundation(about)));
  return h("div.keep", {}, can.includes("case") && caseForm(desk), files(desk), rests);
}

function caseForm(desk: Desk): HTMLElement {
  const note = h<HTMLTextAreaElement>("textarea", { rows: 4, placeholder: "What is wrong, as you see it" });
  const what = h("p.quiet-words");
  desk.store.watch(["weights", "cluster", "mark", "about"], ({ about, weights, cluster: id, mark }) => {
    const cluster = clusterOf(about, id);
    const place = cluster ? `${cluster.fault_words} on ${nameOf(about, cluster.garment)}, ` : mark ? `the place that is pinned (${mark.words}), ` : "";
    what.textContent = `Keeps ${place}the shape (${shapeWords(about, weights, 4)}), the view, a picture, and the content hashes of body and garment.`;
  });
  const save = h<HTMLButtonElement>("button", { type: "submit" }, "Save as a case");
  const form = h<HTMLFormElement>("form.case", {}, h("p.leaf-title", {}, "A case"), h("label", {}, h("span.sr", {}, "Note"), note), what, save);
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    save.disabled = true;
    try {
      const pack = await desk.source.request("case", await caseOf(desk, note.value)).result;
      if (pack) desk.notices.say(`Saved as ${pack.header.file}. dressform case replay shows it elsewhere.`);
      note.value = "";
    } catch (error) {
      desk.notices.fail((error as Error).message);
    } finally {
      save.disabled = false;
    }
  });
  return form;
}

async function caseOf(desk: Desk, note: string): Promise<CaseRequest> {
  const { base, weights, pose, layer } = desk.store.now;
  return {
    base,
    weights,
    garments: drawnKeys(desk.store.now),
    pose,
    view: { ...desk.stage.orbit.view, layer },
    ...placeOf(desk),
    note,
    picture: await base64(await desk.stage.picture()),
  };
}

/** Where the pin is, and what is wrong there if a complaint was chosen. */
function placeOf(desk: Desk): { about: string; place: Place } | null {
  const { about, cluster: id, focus, mark } = desk.store.now;
  const cluster = clusterOf(about, id);
  if (cluster) return { about: cluster.garment, place: cluster.place };
  if (!mark) return null;
  const [x, y, z] = mark.position;
  const place: Place = {
    position_m: [x, y, z], vertex: mark.garment ? mark.vertex : -1, region: "", part: "", side: "",
    height_mm: 0, area_cm2: 0, fault: "", severity: "", value: 0, unit: "",
  };
  return { about: mark.garment || focus, place };
}

function files(desk: Desk): HTMLElement {
  const { can } = desk.store.now.about;
  const picture = button("Picture of this view (PNG)", async () => download(await desk.stage.picture(), "view.png"));
  const fitted = button("Fitted garment (GLB)", () => void exported(desk, "glb"));
  const report = button("Report of everything (HTML)", () => void exported(desk, "report"));
  return h("div.files", {}, h("p.leaf-title", {}, "Files"), h("div.ways", {}, picture, can.includes("export") && fitted, can.includes("export") && report));
}

async function exported(desk: Desk, what: "glb" | "report"): Promise<void> {
  const { base, focus, about } = desk.store.now;
  const words = what === "glb" ? `Writing ${nameOf(about, focus)}` : "Writing the report";
  const pack = await desk.notices.work(words, (tell) => desk.source.request("export", { what, base, garment: focus }, tell));
  if (!pack) return;
  desk.notices.say([`Written: ${pack.header.file}`, ...pack.header.notes].join(" "));
}

function download(blob: Blob, name: string): void {
  const link = h<HTMLAnchorElement>("a", { href: URL.createObjectURL(blob), download: name });
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 0);
}

async function base64(blob: Blob): Promise<string> {
  const bytes = new Uint8Array(await blob.arrayBuffer());
  let text = "";
  const piece = 0x8000;
  for (let at = 0; at < bytes.length; at += piece) text += String.fromCharCode(...bytes.subarray(at, at + piece));
  return btoa(text);
}

function foundation(about: About): (HTMLElement | null)[] {
  const rows: [string, string][] = [
    ["body", `${about.body.name}, ${about.body.file}`],
    ["its content", `sha256 ${about.body.sha256.slice(0, SHORT_HASH)} …`],
    ["made", about.made],
    ...Object.entries(about.versions),
  ];
  const settings = Object.entries(about.settings).map(([name, value]): [string, string] => [name, plain(value)]);
  return [
    h("p.leaf-title", {}, "What this rests on"),
    list(rows.filter(([, value]) => value)),
    settings.length ? h("details", {}, h("summary", {}, "Settings"), list(settings)) : null,
    ...about.cautions.map((caution) => h("p.quiet-words.caution", {}, caution)),
  ];
}

function list(rows: readonly (readonly [string, string])[]): HTMLElement {
  return h("dl", {}, rows.flatMap(([name, value]) => [h("dt", {}, name), h("dd", {}, value)]));
}

function plain(value: unknown): string {
  if (Array.isArray(value)) return value.length ? value.map(plain).join(", ") : "none";
  if (value === null || value === undefined || value === "") return "none";
  if (typeof value === "object") return Object.entries(value).map(([name, each]) => `${name} ${plain(each)}`).join("; ");
  return String(value);
}
