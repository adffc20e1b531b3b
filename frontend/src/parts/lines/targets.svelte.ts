// What the crew wants of the run: depths, clearance, current. Kept here until the boat has it.

import { Refused, send, word } from '../../lib/api'
import { live } from '../../lib/stream'
import type { Targets as Kept } from './types'

type Draft = Omit<Partial<Kept>, 'depth_m'> & { depth_m?: Record<string, number | null> }

const PAUSE_MS = 500 // stepping on is one change, not ten
const AGAIN_MS = 5000

class Targets {
  /** As the boat has it, with what waits to be sent put in; null until known. */
  now = $state.raw<Kept | null>(null)
  state = $state<'idle' | 'sending' | 'kept' | 'waiting' | 'refused'>('idle')
  error = $state('')
  #draft: Draft = {}
  #timer: ReturnType<typeof setTimeout> | undefined

  constructor() {
    live.onBack(() => {
      if (this.state === 'waiting') void this.#flush()
    })
  }

  async load(): Promise<void> {
    if (this.state !== 'waiting') this.state = 'idle'
    try {
      this.now = this.#with((await (await send('GET', '/api/run/targets')).json()) as Kept)
    } catch (error) {
      this.error = word(error)
      if (!this.now) this.state = 'refused'
    }
  }

  /** Wanted depth of a rod [m]; null for none. */
  want(rod: string, depth: number | null): void {
    this.#put({ depth_m: { ...this.#draft.depth_m, [rod]: depth } })
  }

  keepClear(clearance: number): void {
    this.#put({ keep_off_bottom_m: clearance })
  }

  current(speed: number, toward: number): void {
    this.#put({ current_m_s: speed, current_to_deg: toward })
  }

  #put(change: Draft): void {
    this.#draft = { ...this.#draft, ...change }
    if (this.now) this.now = this.#with(this.now)
    this.state = 'sending'
    clearTimeout(this.#timer)
    this.#timer = setTimeout(() => void this.#flush(), PAUSE_MS)
  }

  #with(kept: Kept): Kept {
    const depth_m = { ...kept.depth_m }
    for (const [rod, depth] of Object.entries(this.#draft.depth_m ?? {})) {
      if (depth === null) delete depth_m[rod]
      else depth_m[rod] = depth
    }
    return { ...kept, ...this.#draft, depth_m }
  }

  // Put into what the boat has at that moment, so that two phones don't undo one another's.
  async #flush(): Promise<void> {
    const sent = this.#draft
    this.state = 'sending'
    try {
      const kept = (await (await send('GET', '/api/run/targets')).json()) as Kept
      const body = JSON.stringify(this.#with(kept))
      const headers = { 'Content-Type': 'application/json' }
      const answer = (await (await send('PUT', '/api/run/targets', { body, headers })).json()) as Kept
      if (this.#draft !== sent) {
        this.now = this.#with(answer) // stepped on meanwhile: the next one is on its way
        return
      }
      this.now = answer
      this.#draft = {}
      this.state = 'kept'
      this.error = ''
    } catch (error) {
      this.error = word(error)
      if (error instanceof Refused) {
        this.#draft = {}
        this.state = 'refused'
        return
      }
      this.state = 'waiting'
      clearTimeout(this.#timer)
      this.#timer = setTimeout(() => void this.#flush(), AGAIN_MS)
    }
  }
}

export const targets = new Targets()
