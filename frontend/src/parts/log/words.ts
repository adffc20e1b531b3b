// What an entry says, in a few words: for those that the boat's computer has not told yet.
import { shownExactly, show, units } from '../../lib/units'
import { term } from '../../lib/words'
import type { Item, Rod } from './standing'

const HEAD: Record<string, string> = {
  line_out: 'line out',
  line_change: 'change',
  line_in: 'line in',
  catch: 'catch',
  strike_missed: 'missed strike',
  bottom_hit: 'hit bottom',
  sonar_mark: 'sonar mark',
  conditions: 'now',
  note: 'note',
}
const TOLD = new Set(['corrected'])

/** What is odd about an entry, and the crew should see. */
export function odd(item: Item): Item['checks'] {
  return item.checks.filter((mark) => !TOLD.has(mark.code))
}

/** An entry in words. */
export function wordsOf(item: Item): string {
  const told = item.words?.[units.system]
  if (told) return told
  const head = HEAD[item.kind] ?? item.kind
  const parts = partsOf(item).filter(Boolean)
  return [item.rod ? `${head} ${item.rod}` : head, parts.join(', ')].filter(Boolean).join(': ')
}

function partsOf({ kind, fields: f }: Item): string[] {
  const words = (value: unknown): string => (typeof value === 'string' ? value : '')
  const length = (value: unknown): string => (typeof value === 'number' ? shownExactly(value, 'length') : '')
  switch (kind) {
    case 'line_out':
    case 'line_change':
      return [
        words(f.lure),
        words(f.colour),
        length(f.let_out_m) && `${length(f.let_out_m)} out`,
        words(f.rig) && `rig ${words(f.rig)}`,
      ]
    case 'catch': {
      const size = typeof f.length_m === 'number' ? ` ${show(f.length_m, 'size')}` : ''
      return [
        (words(f.species) || 'fish') + size,
        typeof f.kept === 'boolean' ? (f.kept ? 'kept' : 'released') : '',
        words(f.hook) && term('hooked', words(f.hook)),
        f.bled === true ? 'bled' : '',
        words(f.who),
      ]
    }
    case 'bottom_hit':
    case 'sonar_mark':
      return [length(f.depth_m) && `at ${length(f.depth_m)}`]
    case 'conditions': {
      const wind =
        typeof f.wind_m_s === 'number' ? (f.wind_m_s ? `wind ${show(f.wind_m_s, 'speed', 0)}` : 'calm') : ''
      return [
        words(f.sky),
        [wind || (f.wind_from ? 'wind from' : ''), words(f.wind_from)].filter(Boolean).join(' '),
        typeof f.surface_temp_c === 'number' ? `surface ${show(f.surface_temp_c, 'temperature')}` : '',
        length(f.clarity_m) && `clear to ${length(f.clarity_m)}`,
      ]
    }
    case 'note':
      return [words(f.text).slice(0, 200)]
    default:
      return []
  }
}

/** What is out on a rod: "small-minnow, perch, 165 ft out". */
export function onRod(rod: Rod): string {
  const out = rod.let_out_m === null ? '' : `${shownExactly(rod.let_out_m, 'length')} out`
  return [rod.lure || (rod.rig && `rig ${rod.rig}`), rod.colour, out].filter(Boolean).join(', ')
}

/** A time of day as people write it here: "07:42" or "7:42 AM". */
export function clock(ms: number): string {
  return new Date(ms).toLocaleTimeString(navigator.language, { hour: 'numeric', minute: '2-digit' })
}
