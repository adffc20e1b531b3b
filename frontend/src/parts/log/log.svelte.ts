// The log as the screen has it: the day, what there is to choose from, and how an entry is made.
import { api } from '../../lib/api'
import { clock } from '../../lib/clock.svelte'
import { device } from '../../lib/device.svelte'
import { newId } from '../../lib/ids'
import { keep, kept } from '../../lib/keep'
import { queue, type Made, type Queued } from '../../lib/queue'
import type { components } from '../../lib/schema'
import { shelf } from '../../lib/shelf'
import { live } from '../../lib/stream'
import { dayAt, shifted, stamp } from '../../lib/when'
import { standing, type Item, type LogDay, type Rod } from './standing'

export { dateOf, dayAt, stamp } from '../../lib/when'
export type Aboard = components['schemas']['AboardNow']

const FRESH_S = 10 // an older place is not told
const DRAFT = 'log-draft'

/** A row as the boat's clock has it, where its own time is not set right yet. */
function byTheBoat(row: Queued): Queued {
  const { event } = row
  if (!clock.aheadS || event.clock_ahead_s !== undefined) return row
  return { ...row, event: { ...event, at: shifted(event.at, -clock.aheadS * 1000) } }
}

class Log {
  day = $state.raw<LogDay | null>(null)
  aboard = $state.raw<Aboard | null>(null)
  /** Whether the day was told since the page was opened. */
  told = $state(false)

  #today = $derived(dayAt(clock.boatMs(live.nowS * 1000)))
  readonly #mine = $derived.by(() => {
    const day = this.day?.day === this.#today ? this.day : null
    const today = (row: { event: Made }): boolean => dayAt(Date.parse(row.event.at)) === this.#today
    const rows = queue.rows.map(byTheBoat)
    return standing(
      day,
      queue.sent.map(byTheBoat).filter(today),
      rows.filter((row) => row.why !== undefined || today(row)),
    )
  })

  /** Today's entries, in time order. */
  get items(): Item[] {
    return this.#mine.items
  }

  /** Rods with a line set today. */
  get rods(): Rod[] {
    return this.#mine.rods
  }

  /** Rods with a line out. */
  get out(): Rod[] {
    return this.rods.filter((rod) => rod.out)
  }

  /** All rods that are known: today's, then those of days before with what they had last. */
  get known(): Rod[] {
    const mine = new Set(this.rods.map((rod) => rod.rod))
    const before = (this.aboard?.rods ?? []).filter((rod) => !mine.has(rod.rod))
    return [...this.rods, ...before.map((rod) => ({ ...rod, out: false }))]
  }

  /** Rigs to choose from: the crew's own; the stock's examples only where there are none. */
  get rigs(): Aboard['rigs'] {
    const rigs = this.aboard?.rigs ?? []
    const own = rigs.filter((rig) => rig.own)
    return own.length ? own : rigs
  }

  /** Begins: what was kept here first, then what the boat's computer tells; gives how to end. */
  start(): () => void {
    void this.#recall().then(() => this.refresh())
    void this.#finishDraft()
    const back = live.onBack(() => void this.refresh())
    const place = this.#watchPlace()
    return () => {
      back()
      place()
    }
  }

  /** What today's fish are, for a screen that only asks. */
  async know(): Promise<void> {
    if (this.told) return
    await this.#recall()
    await this.refresh()
  }

  async #recall(): Promise<void> {
    const place = await shelf()
    this.day ??= ((await place.kept('day')) as LogDay | undefined) ?? null
    this.aboard ??= ((await place.kept('aboard')) as Aboard | undefined) ?? null
  }

  /** Asks for day and choices anew; what was there stays where they can't be had. */
  async refresh(): Promise<void> {
    try {
      const [day, aboard] = await Promise.all([
        api.get('/api/journal/day', { query: { day: dayAt(clock.boatMs(Date.now())) } }),
        api.get('/api/journal/aboard'),
      ])
      this.day = day
      this.aboard = aboard
      this.told = true
      const place = await shelf()
      await Promise.all([place.keep('day', day), place.keep('aboard', aboard)])
      await queue.seen(new Set(day.known))
    } catch {
      // not in reach or busy: what was told last goes on serving, the stream says when to ask again
    }
  }

  /** Makes an entry that happened at `ms` and puts it into the queue. */
  async make(kind: string, fields: Record<string, unknown>, ms = Date.now(), after = ''): Promise<string> {
    clock.look() // by a clock set a moment ago nothing is known any more
    const event: Made = { id: newId(after), device: device.name, kind, at: stamp(clock.boatMs(ms)) }
    if (clock.aheadS !== null) event.clock_ahead_s = clock.aheadS
    const zone = Intl.DateTimeFormat().resolvedOptions().timeZone
    if (zone) event.zone = zone
    if (device.who) event.who = device.who
    if (kind !== 'undo' && kind !== 'correct') Object.assign(event, this.#place())
    for (const [key, value] of Object.entries(fields)) {
      if (value !== null && value !== undefined && value !== '') event[key] = value
    }
    await queue.add(event)
    return event.id
  }

  async undo(target: string): Promise<void> {
    await this.make('undo', { target }, Date.now(), target)
  }

  /** Brings back what an undo took back. */
  async redo(item: Item): Promise<void> {
    await this.undo(item.undo)
  }

  async correct(target: string, changes: Record<string, unknown>): Promise<void> {
    this.dropDraft()
    if (Object.keys(changes).length) await this.make('correct', { target, changes }, Date.now(), target)
  }

  /** Keeps details that are being entered, in case the page is closed before they are saved. */
  draft(target: string, changes: Record<string, unknown>): void {
    keep(DRAFT, JSON.stringify({ target, changes }))
  }

  dropDraft(): void {
    keep(DRAFT, '')
  }

  async #finishDraft(): Promise<void> {
    const text = kept(DRAFT)
    if (!text) return
    const { target, changes } = JSON.parse(text) as { target: string; changes: Record<string, unknown> }
    await this.correct(target, changes)
  }

  /** The sounder's depth now [m], where there is one. */
  get sounder(): number | null {
    const boat = this.#boat
    return boat?.depth_from === 'sounder' ? (boat.depth_m ?? null) : null
  }

  get #boat(): components['schemas']['BoatNow'] | null {
    const fresh = live.state === 'live' && live.ageS !== null && live.ageS < FRESH_S
    return fresh ? (live.run?.boat ?? null) : null
  }

  #own: { lat: number; lon: number; ms: number } | null = null

  #place(): { lat?: number; lon?: number } {
    const boat = this.#boat
    if (typeof boat?.lat === 'number' && typeof boat.lon === 'number') return { lat: boat.lat, lon: boat.lon }
    const own = this.#own
    return own && Date.now() - own.ms < FRESH_S * 1000 ? { lat: own.lat, lon: own.lon } : {}
  }

  /** Follows the phone's own position where the crew has allowed it before: nobody is asked here. */
  #watchPlace(): () => void {
    let watch: number | null = null
    let ended = false
    void navigator.permissions
      ?.query({ name: 'geolocation' })
      .then(({ state }) => {
        if (state !== 'granted' || ended) return
        watch = navigator.geolocation.watchPosition(({ coords, timestamp }) => {
          const [lat, lon] = [coords.latitude, coords.longitude].map((each) => Number(each.toFixed(7)))
          this.#own = { lat: lat as number, lon: lon as number, ms: timestamp }
        })
      })
      .catch(() => undefined)
    return () => {
      ended = true
      if (watch !== null) navigator.geolocation.clearWatch(watch)
    }
  }
}

export const log = new Log()
