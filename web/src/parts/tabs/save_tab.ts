/** The tab that saves and exports: a case with its note, pictures and files; it lists files and versions. */

import type { Context } from "../../context.ts";
import { clusterOf, nameOf, shapeWords } from "../../naming.ts";
import { button, h, replace } from "../../dom.ts";
import { drawnKeys, standing } from "../../state.ts";
import type { About, Place } from "../../data/about.ts";
import type { CaseRequest } from "../../data/schema.ts";

const SHORT_HASH = 12;

export function makeSaveTab(context: Context): HTMLElement {
  const { can } = context.store.now.about;
  const rests = h("div.rests");
  context.store.watch(["about"], ({ about }) => replace(rests, ...filesAndVersions(about)));
  return h("div.save-tab", {}, can.includes("case") && caseForm(context), files(context), rests);
}

function caseForm(context: Context): HTMLElement {
  const note = h<HTMLTextAreaElement>("textarea", { rows: 4, placeholder: "What is wrong?" });
  const what = h("p.quiet-words");
  context.store.watch(["weights", "joints", "cluster", "mark", "about"], ({ about, weights, joints, cluster: id, mark }) => {
    const cluster = clusterOf(about, id);
    const place = cluster ? `${cluster.fault_words} on ${nameOf(about, cluster.garment)}, ` : mark ? `the pinned place (${mark.words}), ` : "";
    what.textContent = `Saves ${place}the shape (${shapeWords(about, weights, 4, joints)}), the view, a picture, and hashes of the body and garment files.`;
  });
  const save = h<HTMLButtonElement>("button", { type: "submit" }, "Save case");
  const form = h<HTMLFormElement>("form.case", {}, h("h2.tab-title", {}, "Case"), h("label", {}, h("span.sr", {}, "Note"), note), what, save);
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    save.disabled = true;
    try {
      const pack = await context.source.request("case", await caseOf(context, note.value)).result;
      if (pack) context.notices.say(`Saved as ${pack.header.file}. dressform case replay opens it again.`);
      note.value = "";
    } catch (error) {
      context.notices.fail(error);
    } finally {
      save.disabled = false;
    }
  });
  return form;
}

async function caseOf(context: Context, note: string): Promise<CaseRequest> {
  const { base, weights, layer } = context.store.now;
  return {
    base,
    weights,
    garments: drawnKeys(context.store.now),
    pose: standing(context.store.now),
    view: { ...context.stage.orbit.view, layer },
    ...placeOf(context),
    note,
    picture: await base64(await context.stage.picture()),
  };
}

/** Where the pin is, and what is wrong there if a complaint was chosen. */
function placeOf(context: Context): { about: string; place: Place } | null {
  const { about, cluster: id, focus, mark } = context.store.now;
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

function files(context: Context): HTMLElement {
  const { can } = context.store.now.about;
  const picture = button("This view as a picture (PNG)", async () => download(await context.stage.picture(), "view.png"));
  const fitted = button("Fitted garment (GLB)", () => void exported(context, "glb"));
  const report = button("Report on all garments (HTML)", () => void exported(context, "report"));
  const maker = button("Report on this garment, for its maker (HTML)", () => void exported(context, "maker"));
  context.store.watch(["focus"], ({ focus }) => (fitted.disabled = maker.disabled = !focus));
  const ours = can.includes("export") ? [fitted, report, maker] : [];
  return h("div.files", {}, h("h2.tab-title", {}, "Export"), h("div.ways", {}, picture, ours));
}

async function exported(context: Context, what: "glb" | "report" | "maker"): Promise<void> {
  const { base, focus, about } = context.store.now;
  const words = what === "glb" ? `Writing ${nameOf(about, focus)}` : "Writing the report";
  const pack = await context.notices.work(words, (tell) => context.source.request("export", { what, base, garment: focus }, tell));
  if (!pack) return;
  context.notices.say([`Written: ${pack.header.file}`, ...pack.header.notes].join(" "));
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

function filesAndVersions(about: About): (HTMLElement | null)[] {
  const rows: [string, string][] = [
    ["body", `${about.body.name}, ${about.body.file}`],
    ["hash of its file", `sha256 ${about.body.sha256.slice(0, SHORT_HASH)} …`],
    ["made", about.made],
    ...Object.entries(about.versions),
  ];
  const settings = Object.entries(about.settings).map(([name, value]): [string, string] => [name, plain(value)]);
  return [
    h("h2.tab-title", {}, "Files and versions"),
    list(rows.filter(([, value]) => value)),
    settings.length ? h("details", {}, h("summary", {}, "Settings"), list(settings)) : null,
    about.cautions.length ? h("h2.tab-title", {}, "Please note") : null,
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
