/** What the bench holds, in the part of the address that is never sent: base64url of JSON, after #. */

export function write(state) {
  const bytes = new TextEncoder().encode(JSON.stringify(state));
  const text = btoa([...bytes].map((byte) => String.fromCharCode(byte)).join(""));
  return `#${text.replaceAll("+", "-").replaceAll("/", "_").replaceAll("=", "")}`;
}

/** The state of an address; null if there is none that can be read. */
export function read(fragment) {
  if (fragment.length < 2) return null;
  try {
    const text = atob(fragment.slice(1).replaceAll("-", "+").replaceAll("_", "/"));
    const bytes = Uint8Array.from(text, (letter) => letter.charCodeAt(0));
    const state = JSON.parse(new TextDecoder("utf-8", { fatal: true }).decode(bytes));
    return state !== null && typeof state === "object" ? state : null;
  } catch {
    return null;
  }
}
