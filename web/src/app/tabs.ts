/** The tabs of the panel that this page has: a report has those that need no program. */

import type { Context } from "../context.ts";
import type { Painter } from "../parts/painter.ts";
import type { Tab } from "../parts/panel.ts";
import { makeAlterTab } from "../parts/tabs/alter_tab.ts";
import { makeCompareTab } from "../parts/tabs/compare_tab.ts";
import { makeFaultsTab } from "../parts/tabs/faults_tab.ts";
import { makePoseTab } from "../parts/tabs/pose_tab.ts";
import { makeRangeTab } from "../parts/tabs/range_tab.ts";
import { makeSaveTab } from "../parts/tabs/save_tab.ts";
import { makeTapeTab } from "../parts/tabs/tape_tab.ts";

const ASKING: readonly string[] = ["Alter", "Tape", "Pose"]; // tabs in which nothing works without a program

export function makeTabs(context: Context, painter: Painter): Tab[] {
  const { can } = context.store.now.about;
  const tabs: Tab[] = [
    { name: "Faults", content: makeFaultsTab(context) },
    { name: "Range", content: makeRangeTab(context) },
    { name: "Compare", content: makeCompareTab(context) },
  ];
  if (can.includes("edit")) tabs.push({ name: "Alter", content: makeAlterTab(context, painter) });
  if (can.includes("tape")) {
    const tape = makeTapeTab(context);
    tabs.push({ name: "Tape", content: tape.element, shown: tape.shown });
  }
  if (can.includes("pose")) tabs.push({ name: "Pose", content: makePoseTab(context) });
  for (const { name, content } of tabs) {
    if (ASKING.includes(name)) context.store.watch(["isConnected"], ({ isConnected }) => (content.inert = !isConnected));
  }
  return [...tabs, { name: "Save and export", content: makeSaveTab(context) }];
}
