/** Puts figures and names into a sentence: `{length}`; what is not known stays as it is. */
export function filled(text: string, parts: Readonly<Record<string, string | number>>): string {
  return text.replace(/\{(\w+)\}/g, (whole, name: string) => String(parts[name] ?? whole))
}
