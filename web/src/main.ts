/** Where the page begins: it finds out which life it leads, waits for the About, and lays everything out. */

import { InlinedSource } from "./data/inlined_source.ts";
import { takeToken } from "./data/key.ts";
import { LiveSource } from "./data/live_source.ts";
import type { Source } from "./data/source.ts";
import { openPage } from "./app/page.ts";
import { showFailure, showLoading } from "./parts/opening.ts";

function liveSource(): Source {
  const token = takeToken();
  if (!token) throw new Error("This address lacks the token of the program. Open the address that the program prints.");
  const address = new URL("socket", location.href);
  address.protocol = location.protocol === "https:" ? "wss:" : "ws:";
  address.search = new URLSearchParams({ token }).toString();
  return new LiveSource(address.href);
}

async function begin(): Promise<void> {
  const root = document.getElementById("dressform");
  if (!root) return;
  root.classList.add("df");
  showLoading(root);
  try {
    const source: Source = InlinedSource.isHere() ? new InlinedSource() : liveSource();
    await openPage(root, source, await source.about());
  } catch (error) {
    showFailure(root, error as Error);
  }
}

void begin();
