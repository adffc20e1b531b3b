// What the crew reads: names of things, spelled by the unit system; one list for pages and Python
// (words.json is made from src/towscope/words/words.json). Read in a template, it follows the switch.
import { looksOf, spell, type RodLook, type Table } from './spelling'
import { units } from './units'
import list from './words.json'

const table = list as unknown as Table

export type { RodLook }
export type Group = keyof typeof list.terms

/**
 * A text of ours as it is shown: colour or color, metre or meter. Names that the crew gave are
 * listed in `own` and stay as written, as does what stands in double quotes.
 */
export function spelled(text: string, ...own: string[]): string {
  return spell(text, units.system, table, own)
}

/** What people read for a key: `term('kinds', 'bottom_hit')` is "Hit bottom". */
export function term(group: Group, key: string): string {
  return spelled(table.terms[group]?.[key] ?? key)
}

/** A whole group of names, in the order they are shown. */
export function terms(group: Group): [string, string][] {
  return Object.entries(table.terms[group] ?? {}).map(([key, text]) => [key, spelled(text)])
}

/** The look of each rod of a boat; give it all rods of the boat, the order has no part in it. */
export function rodLooks(names: Iterable<string>): Map<string, RodLook> {
  return looksOf(names, table)
}

/** The look of one rod whose boat is not known. */
export function rodLook(name: string): RodLook {
  return looksOf([name], table).get(name)!
}
