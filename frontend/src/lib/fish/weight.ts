// A fish's weight by its length after the published standard-weight equations, and how well fed it is.
import { filled } from '../filled'
import { tables, type Species } from './tables'

/** What a fish of that length weighs [kg]; with its weight, how well fed it is. */
export interface Weighed {
  standard_weight_kg: number
  usual_kg: [number, number]
  relative_weight: number | null
  condition: string | null
  size_class: string | null
  source: string
  waters: string
}

/** No weight by length, or none that can be right: `message` says why. */
export class NotWeighed extends Error {}

/** How figures are told in the sentences: lengths of fish, and weights. */
export interface Shown {
  size: (metres: number) => string
  mass: (kg: number) => string
}

/** Weighs a fish by its length [m]; throws `NotWeighed`. */
export function weigh(fish: Species, lengthM: number, weighedKg: number | null, shown: Shown): Weighed {
  const { usual, possible, classes, words, said } = tables.weighing
  const { intercept, slope, weighed_from_m: from, source } = fish
  const names = { fish: fish.name, source: source ?? '', length: shown.size(lengthM) }
  if (intercept === null || slope === null || from === null) throw new NotWeighed(filled(said.none, names))
  if (lengthM < from) throw new NotWeighed(filled(said.short, { ...names, least: shown.size(from) }))
  if (fish.longest_m !== null && lengthM > fish.longest_m)
    throw new NotWeighed(filled(said.long, { ...names, longest: shown.size(fish.longest_m) }))
  const standard = 10 ** (intercept + slope * Math.log10(lengthM * 1000)) / 1000
  const part = weighedKg === null ? null : weighedKg / standard
  if (part !== null && weighedKg !== null && !(part >= possible[0] && part <= possible[1])) {
    const percent = (part * 100).toFixed(0)
    throw new NotWeighed(filled(said.wrong, { ...names, weight: shown.mass(weighedKg), percent }))
  }
  return {
    standard_weight_kg: standard,
    usual_kg: [standard * usual[0], standard * usual[1]],
    relative_weight: part,
    condition: part === null ? null : (words.find(([limit]) => part < (limit ?? Infinity))?.[1] ?? null),
    size_class: classes.filter((name) => lengthM >= (fish.classes_m[name] ?? Infinity) - 1e-9).at(-1) ?? null,
    source: source ?? '',
    waters: fish.waters ?? '',
  }
}
