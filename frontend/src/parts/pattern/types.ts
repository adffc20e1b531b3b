// Shapes of the answers that these screens draw, under short names.
import type { paths } from '../../lib/schema'

type Json<T> = T extends { content: { 'application/json': infer J } } ? J : never
/** What a GET of this path answers. */
export type Got<P extends keyof paths> = paths[P] extends { get: { responses: { 200: infer R } } }
  ? Json<R>
  : never

export type Day = Got<'/api/days/{day}'>
export type Days = Got<'/api/days'>
export type Span = Day['spans'][number]
export type Spot = Day['spots'][number]
export type PatternSaid = Got<'/api/pattern'>
export type Pattern = NonNullable<PatternSaid['answer']>
export type Level = Pattern['by'][string][number]
export type NextSaid = Got<'/api/next'>
export type Next = NonNullable<NextSaid['answer']>
export type RodNext = Next['rods'][number]

/** One row of the picture of rates. */
export interface Row {
  name: string
  /** Fish behind it, or null where the figure is a forecast. */
  fish: number | null
  hours: number | null
  low: number
  mid: number
  high: number
  /** Probability of being the best, 0 to 1; null where it is not said. */
  best: number | null
}
