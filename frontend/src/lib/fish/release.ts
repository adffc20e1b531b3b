// Published release studies matched to a fish, as `towscope fish release` does it: words and ranges.
import type { SystemName } from '../units'
import { filled } from '../filled'
import { tables, type Finding, type Hook, type Outlook, type Tables } from './tables'

/** A fish as it was caught; null for what is not known. */
export interface Caught {
  species: string
  depth_m: number | null
  surface_temp_c: number | null
  hook: Hook
  bled: boolean
  under_ice: boolean
}

/** What published work says of letting it go. */
export interface Advice {
  outlook: Outlook
  summary: string
  reasons: string[]
  studies: string[]
}

const JUDGED = ['good', 'fair', 'poor'] as const

function within(figure: number | null, range: Finding['depth_m']): boolean {
  if (!range) return true
  const [from, to] = range
  return figure !== null && figure >= (from ?? -Infinity) && figure < (to ?? Infinity)
}

function meets(fish: Caught, one: Finding): boolean {
  return (
    (!one.fish || one.fish.includes(fish.species)) &&
    !one.but?.includes(fish.species) &&
    within(fish.depth_m, one.depth_m) &&
    within(fish.surface_temp_c, one.surface_temp_c) &&
    (!one.hook || one.hook.includes(fish.hook)) &&
    (one.bled === undefined || one.bled === fish.bled) &&
    (one.under_ice === undefined || one.under_ice === fish.under_ice)
  )
}

/** What is known of its chances. */
export function advice(fish: Caught, system: SystemName, from: Tables = tables): Advice {
  const found = from.findings.filter((one) => meets(fish, one))
  const most = (key: 'worst' | 'least'): number => Math.max(0, ...found.map((one) => one[key] ?? 0))
  const against = found.reduce((sum, one) => sum + (one.against ?? 0), 0)
  const worst = Math.max(Math.min(most('worst') + against, 2), most('least'))
  const known = worst > 0 || found.some((one) => one.says)
  const outlook = known ? (JUDGED[worst] ?? 'poor') : 'unknown'
  const studies: string[] = []
  for (const { study } of found) {
    // a study that is named with its seasons is not named again without them
    if (study && !studies.some((other) => other.startsWith(study))) studies.push(study)
  }
  const names = { hook: fish.hook, fish: fish.species }
  return {
    outlook,
    summary: summary(outlook, fish, from.release),
    reasons: found.flatMap((one) => (one.reason ? [filled(one.reason[system], names)] : [])),
    studies,
  }
}

function summary(outlook: Outlook, fish: Caught, said: Tables['release']): string {
  const hurt = said.hurt.includes(fish.hook)
  let where = hurt ? filled(said.where.hooked, { hook: fish.hook }) : ''
  if (fish.bled) where += hurt ? said.where.bleeding_too : said.where.bleeding
  if (fish.depth_m !== null && fish.depth_m >= said.deep_m) where += said.where.deep
  if (fish.surface_temp_c !== null && fish.surface_temp_c >= said.hot_c) where += said.where.hot
  const kind = outlook === 'fair' && (hurt || fish.bled) ? 'fair, hurt' : outlook
  return filled(said.summaries[kind], { fish: fish.species, where })
}
