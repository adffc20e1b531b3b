// How figures are shown and read in the units the crew likes. The table is the back end's own
// (units.json is made from it, /api/hello renews it): no factor stands anywhere else.
import { api } from './api'
import type { components } from './schema'
import { keep, kept } from './keep'
import builtIn from './units.json'

export type Tables = Pick<components['schemas']['Hello'], 'units' | 'typed'>
export type SystemName = 'us' | 'metric'
export type Kind =
  | 'length'
  | 'size'
  | 'distance'
  | 'speed'
  | 'temperature'
  | 'force'
  | 'mass'
  | 'mass_per_length'
  | 'area'
  | 'angle'
  | 'ratio'

export type Choice = SystemName | 'us-knots' | 'metric-knots'
export const CHOICES: readonly Choice[] = ['us', 'us-knots', 'metric', 'metric-knots']

function remembered(): Choice {
  const said = kept('units')
  const known = CHOICES.find((each) => each === said)
  if (known) return known
  return /^en-(US|LR)\b|^my\b/.test(navigator.language) ? 'us' : 'metric'
}

// The boat decides: one choice for all its phones, so that nobody reads metres where the helm reads
// feet. What is kept here is for when it is not in reach.
class Units {
  /** The boat's choice, as last heard. */
  choice = $state<Choice>(remembered())
  tables = $state.raw<Tables>(builtIn as Tables)
  #unsent = false

  /** Feet or metres, whatever the speed is told in. */
  get system(): SystemName {
    return this.choice.startsWith('us') ? 'us' : 'metric'
  }

  /** Chooses for the boat. */
  choose(choice: Choice): void {
    this.#take(choice)
    void this.#send(choice, false)
  }

  /** The boat's computer has told its choice; `demo` has none to keep. */
  heard(choice: Choice | null, demo: boolean): void {
    if (this.#unsent) void this.#send(this.choice, false)
    else if (choice) this.#take(choice)
    else if (!demo) void this.#send(this.choice, true) // the first phone aboard decides
  }

  #take(choice: Choice): void {
    this.choice = choice
    keep('units', choice)
  }

  async #send(choice: Choice, first: boolean): Promise<void> {
    this.#unsent = !first
    try {
      const { units: told } = await api.put('/api/units', { body: { units: choice, first } })
      this.#unsent = false
      if (told && choice === this.choice) this.#take(told)
    } catch {
      // not in reach: sent when it is heard again
    }
  }
}

/** The choice; read in a template it follows the crew's switch. */
export const units = new Units()

const EMPTY = '–'
const MINUS = '\u2212'

function unit(kind: Kind): components['schemas']['ShownUnit'] {
  const found = units.tables.units[units.choice]?.[kind]
  if (!found) throw new Error(`no unit for ${kind}`)
  return found
}

/** The unit's label: "ft". */
export function label(kind: Kind): string {
  return unit(kind).label
}

/** How many decimals a figure of this kind is shown with. */
export function decimals(kind: Kind): number {
  return unit(kind).decimals
}

/** An SI figure in the unit shown. */
export function convert(si: number, kind: Kind): number {
  const { scale, offset } = unit(kind)
  return (si - offset) / scale
}

/** A figure in the unit shown, in SI. */
export function toSi(figure: number, kind: Kind): number {
  const { scale, offset } = unit(kind)
  return figure * scale + offset
}

/** An SI figure as its number alone, rounded: "31". */
export function figure(si: number | null | undefined, kind: Kind, places?: number): string {
  if (si === null || si === undefined || !Number.isFinite(si)) return EMPTY
  const text = convert(si, kind).toFixed(places ?? unit(kind).decimals)
  return Number(text) === 0 ? text.replace('-', '') : text.replace('-', MINUS)
}

/** An SI figure as people write it: "31 ft". */
export function show(si: number | null | undefined, kind: Kind, places?: number): string {
  const text = figure(si, kind, places)
  if (text === EMPTY) return text
  return /^[°%]$/.test(label(kind)) ? text + label(kind) : `${text}\u00a0${label(kind)}`
}

/**
 * How many decimals it takes to show a figure as it was set: one that was typed or stepped to keeps
 * its half foot, one that was worked out is rounded as ever.
 */
export function exactly(si: number | null | undefined, kind: Kind, places?: number): number {
  const usual = places ?? unit(kind).decimals
  if (si === null || si === undefined) return usual
  const value = convert(si, kind)
  for (let more = usual; more <= usual + 2; more++) {
    if (Math.abs(Number(value.toFixed(more)) - value) < 1e-5 * 10 ** -usual) return more
  }
  return usual
}

/** A figure that was set, with the decimals it was set with: "34.5 ft". */
export function shownExactly(si: number | null | undefined, kind: Kind): string {
  return show(si, kind, exactly(si, kind))
}

/** Two SI figures as one span: "27 to 30 ft". */
export function span(low: number, high: number, kind: Kind, places?: number): string {
  return `${figure(low, kind, places)} to ${show(high, kind, places)}`
}

/** What was typed could not be read; `message` says what is expected. */
export class Unreadable extends Error {}

const NUMBER = /^[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)/

/**
 * Reads what was typed: a number in the unit shown, or a number and its unit ("9.5 m", "5 ft 6 in").
 * `colorLength` [m] lets colours be typed for a coded line; they are counted past `colorBefore` [m].
 */
export function read(text: string, kind: Kind, colorLength?: number | null, colorBefore = 0): number {
  const expected = `write for example ${example(kind)}`
  let rest = text.trim().replaceAll(MINUS, '-')
  if (!rest) throw new Unreadable(`Nothing there; ${expected}`)
  let total = 0
  let terms = 0
  while (rest) {
    const found = NUMBER.exec(rest)
    if (!found) throw new Unreadable(`Can't read "${text.trim().slice(0, 40)}"; ${expected}`)
    if (/^[+-]?\d+,\d{3}$/.test(found[0]))
      throw new Unreadable(`"${found[0]}" can be read two ways; write ${found[0].replace(',', '')}`)
    const number = Number(found[0].replace(',', '.'))
    rest = rest.slice(found[0].length).trimStart()
    const named = /^[^\d\s+.,-][^\d\s]*(?:\^2)?/.exec(rest)?.[0] ?? ''
    rest = rest.slice(named.length).trimStart()
    if (!named && (terms || rest))
      throw new Unreadable(`Can't read "${text.trim().slice(0, 40)}"; ${expected}`)
    total += named ? typed(number, named, kind, expected, colorLength, colorBefore) : toSi(number, kind)
    terms += 1
  }
  if (terms > 1 && kind !== 'length' && kind !== 'size' && kind !== 'mass')
    throw new Unreadable(`Can't read "${text.trim().slice(0, 40)}"; ${expected}`)
  if (!Number.isFinite(total)) throw new Unreadable(`That is no figure; ${expected}`)
  return total
}

function typed(
  number: number,
  named: string,
  kind: Kind,
  expected: string,
  colorLength: number | null | undefined,
  colorBefore: number,
): number {
  if (kind === 'length' && colorLength && /^colou?rs?$/i.test(named))
    return number * colorLength + colorBefore
  const known = units.tables.typed[kind] ?? {}
  const found = known[named] ?? known[named.toLowerCase()] ?? known[named.replace(/\.$/, '')]
  if (!found) throw new Unreadable(`"${named.slice(0, 20)}" is no unit here; ${expected}`)
  return number * found.scale + found.offset
}

const EXAMPLES: Record<Kind, number> = {
  length: 9.144,
  size: 0.0508,
  distance: 3218.688,
  speed: 0.894,
  temperature: 21,
  force: 40,
  mass: 1.2,
  mass_per_length: 0.0023,
  area: 40000,
  angle: 30,
  ratio: 0.15,
}

/** An example of what may be typed: "30 ft". */
export function example(kind: Kind): string {
  return `"${show(EXAMPLES[kind], kind).replace('\u00a0', ' ')}"`
}
