// The page of a difference: reads what stands beside this script and shows it.

import { DifferencePage, show } from "./difference";
import { element } from "./element";

const page = document.getElementById("page") as HTMLElement;
const problem = (text: string) => page.replaceChildren(element("p", { class: "problem", role: "alert" }, text));
try {
  const data = JSON.parse(document.getElementById("plan")?.textContent ?? "") as DifferencePage;
  if (data.difference.format !== "cairn-difference" || data.difference.version !== 1) {
    problem("The data in this page are not a difference that this page knows.");
  } else {
    show(data, page);
  }
} catch (error) {
  problem(`The difference in this page cannot be shown: ${error instanceof Error ? error.message : String(error)}.`);
}
