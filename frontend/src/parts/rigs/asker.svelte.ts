// Follows a finger: asks the back end again as the setting changes, one question at a time, and
// never shows an older answer over a newer one. Without the back end, the engine on this device
// answers; where it cannot, the stored table serves.
import { api, Refused, Unreached, word } from '../../lib/api'
import { engine, NoEngine } from '../../lib/core/engine'
import { stored, store, type Stored } from './stored'
import type { Ask, Told } from './types'

const PAUSE_MS = 40

async function answered(ask: Ask): Promise<Told> {
  try {
    return await api.post('/api/rigs/answer', { body: ask })
  } catch (error) {
    if (!(error instanceof Unreached)) throw error
    return engine.rig(ask)
  }
}

export class Asker {
  /** The newest answer. */
  told = $state.raw<Told | null>(null)
  /** Why there is none to the newest question. */
  error = $state('')
  /** Whether that is because the rig cannot do it, rather than that nobody could be asked. */
  cannot = $state(false)
  /** The table kept on this device, while the back end is out of reach. */
  kept = $state.raw<Stored | null>(null)
  /** Whether an answer is awaited. */
  busy = $state(false)

  #latest = 0
  #shown = 0
  #going = false
  #next: { about: string; ask: Ask; round: number } | null = null
  #timer: ReturnType<typeof setTimeout> | undefined
  #about = ''

  /** Asks; `about` names the rig, so that another rig's answers are dropped. */
  ask(about: string, ask: Ask): void {
    if (about !== this.#about) {
      this.#about = about
      this.#shown = this.#latest + 1
      this.told = null
      this.error = ''
      this.kept = null
    }
    this.#next = { about, ask, round: ++this.#latest }
    this.busy = true
    if (!this.#going && this.#timer === undefined)
      this.#timer = setTimeout(() => {
        this.#timer = undefined
        void this.#send()
      }, PAUSE_MS)
  }

  async #send(): Promise<void> {
    const now = this.#next
    if (!now || this.#going) return
    this.#next = null
    this.#going = true
    try {
      const told = await answered(now.ask)
      if (now.about === this.#about && now.round >= this.#shown) {
        this.#shown = now.round
        this.told = told
        this.error = ''
        this.kept = null
        if (now.ask.rig) store(now.about, told)
      }
    } catch (error) {
      if (now.about === this.#about && now.round >= this.#shown) {
        this.#shown = now.round
        this.cannot = error instanceof Refused
        if (error instanceof Unreached || error instanceof NoEngine) {
          this.kept = stored(now.about)
          this.error = this.kept ? '' : word(error)
          if (this.kept) this.told = null
        } else {
          this.error = word(error)
          if (!(error instanceof Refused) || error.status !== 409) this.told = null
        }
      }
    } finally {
      this.#going = false
      this.busy = this.#next !== null
      if (this.#next) void this.#send()
    }
  }
}
