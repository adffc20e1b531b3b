// The live picture: events "run" and "journal" of /api/stream, and whether they still come.
import { alone } from './alone'
import type { components } from './schema'
import { wakes } from './wakes'

/** The picture of the run. */
export type Run = components['schemas']['Run']
export type BoatUnits = components['schemas']['BoatUnits']['units']

/** A fix, as it comes: more often than the picture. */
export interface Fix {
  lat: number
  lon: number
  time_s: number
}

const SILENT_S = 8 // pictures come each second: this long without one is no connection
const WAIT_S = [0.5, 1, 2, 4, 8, 15]

class Live {
  /** The newest picture, or null before the first. */
  run = $state.raw<Run | null>(null)
  /** The newest fix. */
  boat = $state.raw<Fix | null>(null)
  /** Rises whenever the journal has changed. */
  journal = $state(0)
  /** What the newest "journal" event said. */
  journalSaid = $state.raw<unknown>(null)
  /** "opening" before the first answer, "live", or "lost". */
  state = $state<'opening' | 'live' | 'lost'>('opening')
  /** This device's clock, a tick each second, unix time [s]. */
  nowS = $state(Date.now() / 1000)
  /** When the newest picture came, this device's clock, unix time [s]. */
  cameS = $state<number | null>(null)

  #source: EventSource | null = null
  #heardS = 0
  #tries = 0
  #timer: ReturnType<typeof setTimeout> | undefined
  #back = new Set<() => void>()
  #units = new Set<(units: BoatUnits) => void>()

  /** Age of the boat's last fix [s]: what the picture said, and the time since it came. */
  get ageS(): number | null {
    const age = this.run?.boat.age_s
    if (age === null || age === undefined || this.cameS === null) return null
    return age + Math.max(0, this.nowS - this.cameS)
  }

  /** Age of the newest picture itself [s]; null before the first. */
  get pictureAgeS(): number | null {
    return this.cameS === null ? null : Math.max(0, this.nowS - this.cameS)
  }

  /** Calls `done` whenever the connection is back; gives a function that ends that. */
  onBack(done: () => void): () => void {
    this.#back.add(done)
    return () => this.#back.delete(done)
  }

  /** Calls `done` when the boat's units were chosen anew on any phone. */
  onUnits(done: (units: BoatUnits) => void): void {
    this.#units.add(done)
  }

  /** Begins to listen; safe to call again. */
  start(): void {
    if (this.#source || this.#timer) return
    setInterval(() => this.#tick(), 1000)
    if (alone) {
      this.state = 'lost'
      return
    }
    addEventListener('online', () => this.#retry())
    document.addEventListener('visibilitychange', () => {
      if (!document.hidden && this.state !== 'live') this.#retry()
    })
    this.#open()
  }

  #tick(): void {
    this.nowS = Date.now() / 1000
    if (this.state === 'live' && this.nowS - this.#heardS > SILENT_S) this.#lost()
  }

  #retry(): void {
    if (alone || this.state === 'live') return
    this.#tries = 0
    clearTimeout(this.#timer)
    this.#open()
  }

  #open(): void {
    this.#timer = undefined
    this.#source?.close()
    const source = new EventSource('/api/stream', { withCredentials: true })
    this.#source = source
    source.onopen = () => this.#heard()
    source.onerror = () => {
      if (source === this.#source) this.#lost()
    }
    source.addEventListener('run', (event: MessageEvent<string>) => {
      this.#heard()
      this.cameS = this.nowS = Date.now() / 1000
      this.run = JSON.parse(event.data) as Run
      wakes.add(this.run)
    })
    source.addEventListener('journal', (event: MessageEvent<string>) => {
      this.#heard()
      this.journalSaid = event.data ? JSON.parse(event.data) : null
      this.journal += 1
    })
    source.addEventListener('units', (event: MessageEvent<string>) => {
      const told = JSON.parse(event.data) as components['schemas']['BoatUnits']
      for (const done of this.#units) done(told.units)
    })
    source.addEventListener('boat', (event: MessageEvent<string>) => {
      this.#heard()
      this.boat = JSON.parse(event.data) as Fix
    })
  }

  #heard(): void {
    this.#heardS = Date.now() / 1000
    this.#tries = 0
    if (this.state === 'live') return
    this.state = 'live'
    for (const done of this.#back) done()
  }

  #lost(): void {
    this.#source?.close()
    this.state = 'lost'
    clearTimeout(this.#timer)
    const wait = WAIT_S[Math.min(this.#tries, WAIT_S.length - 1)] ?? 15
    this.#tries += 1
    this.#timer = setTimeout(() => this.#open(), wait * 1000)
  }
}

/** The live picture and the state of the connection, for any screen to read. */
export const live = new Live()
