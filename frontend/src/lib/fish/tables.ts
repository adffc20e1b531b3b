// What is known of fish: tables.json is made from the Python package (towscope.fish.tables), so that
// fish are judged here as they are there, and with no connection at all.
import told from './tables.json'

export type Outlook = 'good' | 'fair' | 'poor' | 'unknown'
export type Hook = '' | 'lip' | 'mouth' | 'gill' | 'eye' | 'throat' | 'stomach' | 'outside'

type Range = [number | null, number | null]

/** A fish, its standard-weight equation, and the least lengths of its classes [m]. */
export interface Species {
  name: string
  aliases: string[]
  intercept: number | null
  slope: number | null
  weighed_from_m: number | null
  source: string | null
  waters: string | null
  classes_m: Record<string, number>
  /** About the longest on record [m]. */
  longest_m: number | null
}

/** What a study, or none, says of a fish that meets all conditions. */
export interface Finding {
  reason?: { us: string; metric: string }
  fish?: string[]
  but?: string[]
  /** From, included, up to, left out [m]; null where it is open. */
  depth_m?: Range
  surface_temp_c?: Range
  hook?: string[]
  bled?: boolean
  under_ice?: boolean
  worst?: number
  against?: number
  least?: number
  says: boolean
  study?: string
}

export interface Tables {
  species: Species[]
  weighing: {
    usual: [number, number]
    possible: [number, number]
    classes: string[]
    words: [number | null, string][]
    said: Record<'none' | 'short' | 'long' | 'wrong', string>
  }
  keeping: Record<'short' | 'long' | 'between' | 'enough' | 'enough long' | 'long one' | 'within', string>
  limit_faults: Record<'water' | 'source' | 'release' | 'shortest' | 'over', string>
  findings: Finding[]
  release: {
    summaries: Record<Outlook | 'fair, hurt', string>
    where: Record<'hooked' | 'bleeding_too' | 'bleeding' | 'deep' | 'hot', string>
    deep_m: number
    hot_c: number
    hurt: string[]
    cautions: string[]
  }
}

export const tables = told as unknown as Tables

/** The names of all fish. */
export const NAMES: readonly string[] = tables.species.map((one) => one.name)

/** The fish of that name, or of one that it goes by. */
export function speciesNamed(text: string): Species | undefined {
  const key = text
    .toLowerCase()
    .replace(/[-_\s]+/g, ' ')
    .trim()
  const of = (name: string): Species | undefined =>
    tables.species.find((one) => one.name === name || one.aliases.includes(name))
  return of(key) ?? of(key.replace(/s$/, ''))
}
