/** The same request as a command of a POSIX shell, and a copy that needs no permission. */

import { find } from "./bench-elements.js";

/** One word for a POSIX shell (IEEE 1003.1, 2.2.2): in single quotes nothing has a meaning but their end. */
export const quoted = (text) => `'${text.replaceAll("'", "'\\''")}'`;

/** Returns what shows the command for a request. */
export function watchCommand() {
  for (const button of document.querySelectorAll("[data-copy]"))
    button.addEventListener("click", async () => {
      button.parentElement.querySelector("[role=status]").textContent = await copy(find(button.dataset.copy));
    });
  return (request) => {
    find("json").value = JSON.stringify(request, null, 2);
    find("command").value = [
      `curl -sS ${quoted(`${location.origin}/v1/evaluations`)}`,
      `-H ${quoted("Content-Type: application/json")}`,
      `--data-binary ${quoted(JSON.stringify(request))}`,
    ].join(" \\\n  ");
    for (const status of document.querySelectorAll("#machine [role=status]")) status.textContent = "";
  };
}

async function copy(field) {
  field.focus();
  field.select();
  try {
    await navigator.clipboard.writeText(field.value);
    return "Copied.";
  } catch {
    // No clipboard on plain http, or not allowed: the selection is copied as by hand.
    return document.execCommand("copy") ? "Copied." : "It is selected; copy it with your device's own copy.";
  }
}
