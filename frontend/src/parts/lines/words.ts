// The lines in plain words: the one change, the notice, what is wrong and what to do about it.

import { clock } from '../../lib/hours'
import { figure, show } from '../../lib/units'
import { spelled } from '../../lib/words'
import { actions } from './action'
import type { Change, LineNow, Notice, Run } from './types'

const POINTS = [
  'north',
  'north-east',
  'east',
  'south-east',
  'south',
  'south-west',
  'west',
  'north-west',
] as const

export function toward(degrees: number): string {
  return POINTS[((Math.round(degrees / 45) % 8) + 8) % 8] ?? 'north'
}

const SHORT = [
  'N',
  'NNE',
  'NE',
  'ENE',
  'E',
  'ESE',
  'SE',
  'SSE',
  'S',
  'SSW',
  'SW',
  'WSW',
  'W',
  'WNW',
  'NW',
  'NNW',
] as const

export function abbreviated(degrees: number): string {
  return SHORT[((Math.round(degrees / 22.5) % 16) + 16) % 16] ?? 'N'
}

export function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1)
}

export function colours(count: number): string {
  const shown = (Math.round(count * 10) / 10).toFixed(1).replace(/\.0$/, '')
  return spelled(`${shown} ${shown === '1' ? 'colour' : 'colours'}`)
}

// Line out after a change, as the counter will read, and the colours that are out then.
function outThen(change: Change): string {
  if (change.let_out_m === null || change.let_out_m === undefined) return ''
  const then = change.colors_out ?? null
  const count = then === null ? '' : `, ${colours(then)}`
  return `to ${show(change.let_out_m, 'length')} out${count}`
}

// What is to be changed in colours, in brackets, for those who count them.
function counted(change: Change, line: LineNow | undefined): string {
  const now = line?.colors_out ?? null
  const then = change.colors_out ?? null
  const by = now === null || then === null ? 0 : Math.abs(then - now)
  return by < 0.25 ? '' : ` (${colours(by)})` // nobody counts less, and "0 colours" is nothing to do
}

export interface Told {
  head: string
  more: string
}

export function changeWords(line: LineNow): Told {
  const change = line.change
  if (line.target_m === null || line.target_m === undefined) {
    return { head: 'No target', more: '' }
  }
  if (!change) return { head: 'Working out the change …', more: '' }
  const why = change.why ? capital(change.why.replace(/\.$/, '')) + '.' : ''
  if (change.kind === 'none') return { head: 'Nothing to change', more: why }
  const head = capital(deed(change, null)) + counted(change, line)
  return { head, more: [outThen(change), why].filter(Boolean).join('. ') }
}

// What to do, without when.
export function deed(change: Change, speedNow: number | null): string {
  const by = Math.abs(change.by_m ?? 0)
  switch (change.kind) {
    case 'reel':
      return `reel in ${show(by, 'length')}`
    case 'let out':
      return `let out ${show(by, 'length')}`
    case 'speed': {
      const to = change.speed_m_s ?? 0
      const verb = speedNow === null ? 'go' : to > speedNow ? 'speed up to' : 'slow down to'
      return `${verb} ${show(to, 'speed')}`
    }
    default:
      return 'nothing to change'
  }
}

/** What a notice says where the likeliest way hits bottom; else it may. */
export const SURE = /^will\b/

export interface Warning {
  rod: string
  seconds: number
  sure: boolean
  head: string // without the seconds, which are shown large beside it
  first: string
  others: string[]
  working: boolean // on what to do
  spoken: string
}

export function warning(notice: Notice, elapsed: number, run: Run): Warning {
  const seconds = Math.max(0, Math.round(notice.seconds - elapsed))
  const sure = SURE.test(notice.sure)
  const name = notice.rod.toUpperCase()
  const hits = sure ? 'hits bottom' : 'may hit bottom'
  const down = sure && notice.seconds <= 0
  const head = down ? `${name} lure is on the bottom` : `${name} lure ${hits} ${seconds > 0 ? 'in' : 'now'}`
  // one action for all rods: three rods with three things to do help nobody
  const acts = actions(run, elapsed)
  const first = acts.length ? capital(acts[0] ?? '') : 'Finding how to clear it …'
  const others = acts.slice(1).map((a) => `or ${a}`)
  const soon = seconds > 0 ? `in ${seconds} seconds` : 'now'
  const said = down ? 'lure is on the bottom' : `lure ${hits} ${soon}`
  const spoken = `${notice.rod} ${said}. ${[first, ...others].join(', ')}.`
  return { rod: notice.rod, seconds, sure, head, first, others, working: !acts.length, spoken }
}

export type Way = 'settled' | 'sinking' | 'rising'

// Whether a lure has come to where it will stay; by the figures that are shown, so that a word
// never contradicts them.
export function way(line: LineNow): Way {
  const off = line.settled_depth_m - line.depth_m
  const same = show(line.settled_depth_m, 'length') === show(line.depth_m, 'length')
  if (Math.abs(off) < 0.15 || (same && Math.abs(off) < 0.3)) return 'settled'
  return off > 0 ? 'sinking' : 'rising'
}

export function ageWords(seconds: number): string {
  if (seconds < 90) return `${Math.round(seconds)} s`
  if (seconds < 5400) return `${Math.round(seconds / 60)} min`
  return `${Math.round(seconds / 3600)} h`
}

export interface Trouble {
  head: string
  todo: string
  old: boolean // whether what is drawn is not of now
  gps?: boolean // whether this phone's GPS would help
}

// Seconds without a picture after which it is no longer called live.
export const LOST_AFTER = 2.3

export function trouble(run: Run | null, silent: number): Trouble | null {
  if (run === null) {
    return {
      head: silent < 3 ? 'Waiting for the boat' : 'No word from the boat',
      todo:
        silent < 3
          ? 'The picture comes with the first word from it.'
          : 'Is towscope running on the boat’s computer, and this phone on its network?',
      old: true,
    }
  }
  if (silent > LOST_AFTER) {
    return {
      head: `No word for ${ageWords(silent)}`,
      todo: 'This picture is old. Is towscope running on the boat’s computer, and this phone on its network? It comes back by itself.',
      old: true,
    }
  }
  const age = run.boat.age_s
  const as = run.as_of ? ` from ${clock(run.as_of)}` : ''
  switch (run.state) {
    case 'no fix':
      // a place that came just now, or anew after a leap or a silence: it takes a few to go by
      if (typeof run.boat.lat === 'number')
        return {
          head: 'Position jumped or is new',
          todo: 'Waiting for the next fixes: lures are followed again within seconds.',
          old: true,
        }
      return {
        head: 'No GPS position',
        todo: 'Switch the receiver on and check that it is connected, or share this phone’s GPS.',
        old: true,
        gps: true,
      }
    case 'stale':
      return {
        head: age ? `GPS ${ageWords(age)} old` : 'GPS is old',
        todo: `${run.lines?.length ? `Depths and lines are${as}, before it was lost.` : 'Lures can’t be followed without it.'} Check the receiver: power, plug, view of the sky. Or share this phone’s GPS.`,
        old: true,
        gps: true,
      }
    case 'not towing':
      return {
        head: 'Not at trolling speed',
        todo: 'Lures are followed again once the boat moves at a speed that lines are pulled at.',
        old: false,
      }
    case 'no lines':
      return {
        head: 'No line is out',
        todo: 'Log a line out: it shows here with its lure at once.',
        old: false,
      }
    default:
      return null
  }
}

/** Whether a lure drags: at or below the bottom, by the figure that is shown. */
export function onBottom(line: LineNow): boolean {
  const off = line.off_bottom_m
  return off !== null && off !== undefined && Number(figure(Math.max(off, 0), 'length')) === 0
}

// One row for each lure, for those who hear the page.
export function described(line: LineNow): string {
  const to = way(line)
  const parts = [
    `${line.rod}: ${show(line.depth_m, 'length')} deep`,
    line.off_bottom_m === null || line.off_bottom_m === undefined
      ? 'bottom not known'
      : onBottom(line)
        ? 'on the bottom'
        : `${show(line.off_bottom_m, 'length')} off bottom`,
    `${show(line.let_out_m, 'length')} of line out`,
    to === 'settled' ? 'settled' : `${to} to ${show(line.settled_depth_m, 'length')}`,
  ]
  const told = changeWords(line)
  return `${parts.join(', ')}. ${told.head}.`
}
