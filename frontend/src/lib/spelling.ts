// Spelling by unit system, and what a rod looks like: the rule of towscope.words, on the same list.
// Pure functions of the list, so that both sides can be tried on the same cases.

export interface Hexes {
  day: string
  night: string
}

export interface Table {
  spelling: Record<string, string>
  terms: Record<string, Record<string, string>>
  rods: { colours: Record<string, Hexes>; shapes: string[]; names: Record<string, string[]> }
}

// options, keys, paths, addresses, file names: never touched
const CODE = /^\(?--?[\p{L}\p{N}_]|[_/\\@=]|\.[\p{L}\p{N}_]/u
const QUOTED = '"[^"\\n]*"'
const patterns = new WeakMap<object, RegExp>()

function pattern(table: Table): RegExp {
  let found = patterns.get(table)
  if (!found) {
    const words = Object.keys(table.spelling).sort((a, b) => b.length - a.length)
    found = new RegExp(`(?<![\\p{L}\\p{N}])(?:${words.join('|')})(?![\\p{L}\\p{N}])`, 'giu')
    patterns.set(table, found)
  }
  return found
}

const capital = (word: string): string => word.charAt(0).toUpperCase() + word.slice(1)

function prose(text: string, table: Table): string {
  return text.replace(/\S+/g, (token) =>
    CODE.test(token)
      ? token
      : token.replace(pattern(table), (found) => {
          const word = table.spelling[found.toLowerCase()] ?? found
          if (found === found.toLowerCase()) return word
          if (found === found.toUpperCase()) return word.toUpperCase()
          return found === capital(found.toLowerCase()) ? capital(word) : found
        }),
  )
}

/** A text of ours, spelled for a unit system; names in `own` and quoted text stay as written. */
export function spell(text: string, system: string, table: Table, own: string[] = []): string {
  if (!system.startsWith('us')) return text
  const names = own
    .filter(Boolean)
    .map((each) => each.replace(/[.*+?^${}()|[\]\\]/g, '\\$&'))
    .sort((a, b) => b.length - a.length)
  const left = new RegExp(
    [QUOTED, ...names.map((n) => `(?<![\\p{L}\\p{N}_])${n}(?![\\p{L}\\p{N}_])`)].join('|'),
    'gu',
  )
  let told = ''
  let at = 0
  for (const kept of text.matchAll(left)) {
    told += prose(text.slice(at, kept.index), table) + kept[0]
    at = kept.index + kept[0].length
  }
  return told + prose(text.slice(at), table)
}

export interface RodLook extends Hexes {
  colour: string
  shape: string
}

function keyOf(name: string): string {
  return name.toLowerCase().replace(/[-_]/g, ' ').trim().split(/\s+/).join(' ').replaceAll('center', 'centre')
}

// FNV-1a, 32 bits, over the bytes of the name.
function hash(text: string): number {
  let found = 0x811c9dc5
  for (const byte of new TextEncoder().encode(text)) found = Math.imul(found ^ byte, 0x01000193) >>> 0
  return found
}

// The next after the wish, in a circle, among those used least.
function free(wish: number, used: number[], count: number): number {
  const uses = Array.from({ length: count }, (_, i) => used.filter((u) => u === i).length)
  const least = Math.min(...uses)
  for (let i = wish; i < wish + count; i++) if (uses[i % count] === least) return i % count
  return wish
}

/** The look of each rod of a boat: of all its rods, in any order. */
export function looksOf(names: Iterable<string>, table: Table): Map<string, RodLook> {
  const { colours, shapes, names: fixed } = table.rods
  const tones = Object.keys(colours)
  const keys = new Map<string, string[]>()
  for (const name of names) keys.set(keyOf(name), [...(keys.get(keyOf(name)) ?? []), name])
  const order = [...keys.keys()].sort(
    (a, b) => Number(!(a in fixed)) - Number(!(b in fixed)) || (a < b ? -1 : a > b ? 1 : 0),
  )
  const found = new Map<string, RodLook>()
  const usedTones: number[] = []
  const usedShapes: number[] = []
  for (const key of order) {
    const known = fixed[key]
    const number = hash(key)
    const tone = known ? tones.indexOf(known[0]!) : free(number % tones.length, usedTones, tones.length)
    const shape = known
      ? shapes.indexOf(known[1]!)
      : free(Math.floor(number / tones.length) % shapes.length, usedShapes, shapes.length)
    usedTones.push(tone)
    usedShapes.push(shape)
    const look = { colour: tones[tone]!, shape: shapes[shape]!, ...colours[tones[tone]!]! }
    for (const name of keys.get(key)!) found.set(name, look)
  }
  return found
}
