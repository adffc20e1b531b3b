// Whether the crew's own limits let them keep a fish, as `towscope fish keep` says it.
import type { components } from '../schema'
import { filled } from '../filled'
import { tables } from './tables'

export type Limit = components['schemas']['Limit']

/** To a tenth of a millimetre: what a tape shows decides, not the last bit of a conversion. */
const taped = (metres: number): number => Math.round(metres * 1e4)

/** Whether it may be kept, and why, with how many were kept today, and how many long ones of them. */
export function mayKeep(
  limit: Limit,
  lengthM: number,
  kept: { all: number; over: number },
  size: (metres: number) => string,
): { may: boolean; why: string } {
  const said = tables.keeping
  const { minimum_m: least, maximum_m: most, keep, over_m: over, over_keep: overKeep } = limit
  const length = taped(lengthM)
  const no = (why: string): { may: boolean; why: string } => ({ may: false, why })
  if (typeof least === 'number' && length < taped(least))
    return no(filled(said.short, { length: size(least) }))
  if (typeof most === 'number' && length > taped(most)) return no(filled(said.long, { length: size(most) }))
  for (const [low, high] of limit.release_m ?? [])
    if (length >= taped(low) && length <= taped(high))
      return no(filled(said.between, { low: size(low), high: size(high) }))
  if (typeof keep === 'number' && kept.all >= keep) return no(filled(said.enough, { count: keep }))
  if (typeof over === 'number' && typeof overKeep === 'number' && length > taped(over)) {
    const full = kept.over >= overKeep
    const why = filled(said[full ? 'enough long' : 'long one'], { count: overKeep, length: size(over) })
    return { may: !full, why }
  }
  return { may: true, why: said.within }
}

/** What is wrong with a limit as it is entered; "" where nothing is. */
export function faultOf(limit: Limit): string {
  const said = tables.limit_faults
  const { minimum_m: least, maximum_m: most } = limit
  if (!limit.water) return said.water
  if (!limit.source) return said.source
  if ((limit.release_m ?? []).some(([low, high]) => low >= high)) return said.release
  if (typeof least === 'number' && typeof most === 'number' && least >= most) return said.shortest
  if (((limit.over_m ?? null) === null) !== ((limit.over_keep ?? null) === null)) return said.over
  return ''
}
