// What the crew tapped on the map: how deep it is there, and what it is.
import { api, Unreached, word } from '../../lib/api'
import { over } from '../../lib/back'
import { far } from '../../lib/far'
import { figure, show } from '../../lib/units'

interface Place {
  lat: number
  lon: number
}

/** To be made while a component is: Back closes what was tapped. */
export class Tapped {
  now = $state.raw<{ depth: string; what: string[]; at: Place } | null>(null)
  readonly #open = $derived(this.now !== null)

  constructor() {
    $effect(() => {
      if (this.#open) return over(() => this.close())
    })
  }

  close(): void {
    this.now = null
  }

  /** Says what is known at once, then the depth as it is answered. */
  async at(lake: string, at: Place, what: Record<string, unknown>[]): Promise<void> {
    const mine = { depth: 'Asking…', what: [...new Set(what.map(told).filter(Boolean))], at }
    this.now = mine
    let depth: string
    try {
      const got = await api.get('/api/lakes/{name}/depth', { path: { name: lake }, query: at })
      const [low, high] = got.interval_90_m
      depth = `${show(got.depth_m, 'length', 1)} deep (${figure(low, 'length', 1)} to ${figure(high, 'length', 1)})`
    } catch (error) {
      depth = error instanceof Unreached ? 'No connection: depths are on the contours' : word(error)
    }
    if (this.now === mine) this.now = { ...mine, depth }
  }
}

/** A thing on the map in words; "" for what needs none. */
export function told(of: Record<string, unknown>): string {
  const n = (key: string) => Number(of[key])
  switch (of.kind) {
    case 'edge':
      return `Edge ${String(of.rank)}: ${far(n('length_m'))} long, ${Math.round(n('slope_deg'))}° steep, known to ${show(n('across_sd_m'), 'length', 0)}`
    case 'point':
      return `Point: the edge turns ${Math.round(n('turn_deg'))}° out over the deep`
    case 'inside turn':
      return `Inside turn: the edge turns ${Math.round(n('turn_deg'))}° back to the shallow`
    case 'hump':
      return `Hump: top ${show(n('top_depth_m'), 'length', 1)}, rises ${show(n('rise_m'), 'length', 1)}`
    case 'flat':
      return `Flat: ${show(n('top_depth_m'), 'length', 1)} and down ${show(n('depth_range_m'), 'length', 1)}`
    case 'fish':
    case 'sonar mark':
    case 'bottom hit':
      return String(of.words)
    case 'boat':
    case 'lure':
    case 'number':
      return typeof of.pass === 'number' && of.pass ? `Pass ${of.pass}` : ''
    default:
      return ''
  }
}
