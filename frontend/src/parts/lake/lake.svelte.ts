// The lake that is looked at: which there are, its map, the edges at a depth, the plan, the day's fish.
import { api, Unreached, word } from '../../lib/api'
import { far } from '../../lib/far'
import { keep, kept } from '../../lib/keep'
import type { components } from '../../lib/schema'
import { live } from '../../lib/stream'
import { toSi, units } from '../../lib/units'
import { remembered } from './data'
import type { Logged } from './features'

type LakeMap = components['schemas']['LakeMap']
type Edges = components['schemas']['Edges']
type PlanWhole = components['schemas']['PlanWhole']

const DEEPEST_SHARE = 0.98 // of the lake: an edge can't be asked for below that
const PAUSE_MS = 250 // what there is at a depth is asked once the crew has stopped tapping
const THIN_M = 0.75 // detail of an edge that is left out
const KINDS: Record<string, Logged['kind']> = {
  catch: 'fish',
  sonar_mark: 'sonar mark',
  bottom_hit: 'bottom hit',
}

/** To be made while a component is: it asks for what is to be shown as that changes. */
export class Lake {
  lakes = $state.raw<components['schemas']['LakeFacts'][] | null>(null)
  name = $state('')
  base = $state.raw<LakeMap | null>(null)
  /** Whether the map is the one saved on this device, for want of a connection. */
  old = $state(false)
  said = $state('')
  /** Edges at the depth. */
  found = $state.raw<Edges | null>(null)
  showing = $state(kept('lake.edges') !== 'off')
  depthM = $state(Number(kept('lake.depth')) || toSi(units.system === 'us' ? 30 : 9, 'length'))
  looking = $state(false)
  depthSaid = $state('')
  plan = $state.raw<PlanWhole | null>(null)
  /** Number of the pass that is picked; 0 for none. */
  chosen = $state(0)
  /** Fish, sonar marks and bottom hits of today. */
  day = $state.raw<Logged[]>([])

  readonly #deepest = $derived(this.base?.lake === this.name ? this.base.deepest_m : null)

  constructor() {
    void this.list()
    $effect(() => live.onBack(() => void this.list()))
    $effect(() => {
      if (this.name) void this.#fetch(this.name, units.system)
    })
    $effect(() => live.onBack(() => this.name && void this.#fetch(this.name, units.system)))
    $effect(() => {
      const { name, depthM, showing } = this
      const deepest = this.#deepest
      const system = units.system
      if (!name || !showing || deepest === null) {
        this.found = null
        return
      }
      const depth = Math.min(depthM, DEEPEST_SHARE * deepest)
      const waiting = setTimeout(() => void this.#look(name, depth, system), PAUSE_MS)
      return () => clearTimeout(waiting)
    })
    $effect(() => {
      void live.journal
      void units.system
      void this.#logged()
    })
  }

  /** Asks which lakes there are; `choose` is the one to open. */
  async list(choose = ''): Promise<void> {
    try {
      const got = await remembered('lakes', () => api.get('/api/lakes'))
      this.lakes = got.value.lakes
      const names = this.lakes.map((each) => each.name)
      const wanted = choose || this.name || kept('lake.name') || got.value.current
      this.name = names.includes(wanted)
        ? wanted
        : (names.find((each) => each === got.value.current) ?? names[0] ?? '')
    } catch (error) {
      this.lakes ??= []
      this.said =
        error instanceof Unreached ? 'No connection, and no lake is saved on this device yet.' : word(error)
    }
  }

  choose(name: string): void {
    this.name = name
    keep('lake.name', name)
    this.base = this.found = this.plan = null
    this.chosen = 0
  }

  async #fetch(of: string, system: 'us' | 'metric'): Promise<void> {
    const current = () => of === this.name && system === units.system
    try {
      const got = await remembered(
        `map:${of}:${system}`,
        () => api.get('/api/lakes/{name}/map', { path: { name: of }, query: { units: system } }),
        (early) => {
          if (current() && (this.base?.lake !== of || this.base.units !== system)) this.base = early
        },
      )
      if (!current()) return
      this.old = got.old
      // the same answer again must not draw all anew
      if (JSON.stringify(got.value) !== JSON.stringify(this.base)) this.base = got.value
      this.said = ''
    } catch (error) {
      if (current()) this.said = word(error)
    }
  }

  async #look(of: string, depth: number, system: 'us' | 'metric'): Promise<void> {
    const current = () =>
      of === this.name &&
      depth === Math.min(this.depthM, DEEPEST_SHARE * (this.base?.deepest_m ?? 0)) &&
      this.showing
    this.looking = true
    try {
      const at = Math.round(depth * 1000) / 1000
      const got = await remembered(`edges:${of}:${at}`, () =>
        api.get('/api/lakes/{name}/edges', {
          path: { name: of },
          query: { depth_m: at, thin_m: THIN_M, units: system },
        }),
      )
      if (!current()) return
      const { edges, edge_length_m } = got.value
      this.found = got.value
      this.depthSaid = edges
        ? `${edges === 1 ? '1 edge' : `${edges} edges`}, ${far(edge_length_m)} in all`
        : 'No edge steep enough at this depth'
    } catch (error) {
      if (!current()) return
      this.found = null
      this.depthSaid = word(error)
    } finally {
      this.looking = false
    }
  }

  /** Shallower or deeper by so many steps. */
  step(by: number): void {
    const least = units.system === 'us' ? toSi(1, 'length') : toSi(0.5, 'length')
    const most = DEEPEST_SHARE * (this.base?.deepest_m ?? 100)
    const steps = Math.round(this.depthM / least) + by
    this.depthM = Math.min(Math.max(steps * least, least), Math.max(Math.floor(most / least) * least, least))
    keep('lake.depth', String(this.depthM))
  }

  toggle(): void {
    this.showing = !this.showing
    keep('lake.edges', this.showing ? 'on' : 'off')
  }

  // What was logged at a place today.
  async #logged(): Promise<void> {
    try {
      const got = await remembered('catches', () => api.get('/api/journal/day'))
      let fish = 0
      this.day = got.value.entries.flatMap((each) => {
        const kind = KINDS[each.kind]
        if (!kind) return []
        if (kind === 'fish') fish += 1 // numbered as on the timeline, those without a place too
        const { lat, lon } = each.fields as { lat?: number | null; lon?: number | null }
        if (typeof lat !== 'number' || typeof lon !== 'number') return []
        return [{ kind, number: fish, lat, lon, words: each.words[units.system] ?? '' }]
      })
    } catch {
      // the map does without them
    }
  }
}
