// The engine on this device: questions go to one worker, one at a time, and come back as promises.
import { Refused } from '../api'
import { carried } from '../carried'
import { worded, refused } from './said'
import type { Heard, Said } from './worker'
import type { Ask, Told } from '../../parts/rigs/types'

/** A newer question was asked before this one's turn came. */
export class Superseded extends Error {}

/** This device cannot run the engine, or its files are not here. */
export class NoEngine extends Error {}

/** The part of a worker that is used. */
export interface Thread {
  postMessage(said: Said): void
  onmessage: ((event: MessageEvent<Heard>) => void) | null
  onerror: ((event: ErrorEvent) => void) | null
}
interface Waiting {
  ask: Ask
  done: (told: Told) => void
  failed: (error: Error) => void
}

function thread(): Thread {
  return new Worker(new URL('./worker.ts', import.meta.url), { type: 'module', name: 'engine' })
}

export class Engine {
  #thread: Thread | null = null
  #at: (Waiting & { id: number }) | null = null
  #next: Waiting | null = null
  #asked = 0
  #tackle = ''

  constructor(private readonly made: () => Thread = thread) {}

  /** Asks a rig. A question that waits when a newer one comes is given up (`Superseded`). */
  async rig(ask: Ask): Promise<Told> {
    if (typeof WebAssembly === 'undefined')
      throw new NoEngine('This browser cannot work it out by itself: it has no WebAssembly')
    const { engine, stamp } = await carried.tackle()
    if (!this.#thread) {
      this.#thread = this.made()
      this.#thread.onmessage = (event) => this.#heard(event.data)
      this.#thread.onerror = (event) => this.#broke(event.message)
      this.#thread.postMessage({ base: document.baseURI })
    }
    if (stamp !== this.#tackle) {
      this.#thread.postMessage({ tackle: engine })
      this.#tackle = stamp
    }
    return new Promise((done, failed) => {
      this.#next?.failed(new Superseded())
      this.#next = { ask, done, failed }
      this.#send()
    })
  }

  #send(): void {
    if (this.#at || !this.#next) return
    this.#at = { ...this.#next, id: ++this.#asked }
    this.#next = null
    // a plain copy: what a component holds cannot be handed to another thread
    const ask = JSON.parse(JSON.stringify(this.#at.ask)) as Ask
    this.#thread?.postMessage({ id: this.#at.id, ask })
  }

  #heard(heard: Heard): void {
    const at = this.#at
    if (at?.id !== heard.id) return
    this.#at = null
    if ('answered' in heard) at.done(worded(heard.answered))
    else if ('why' in heard) at.failed(new Refused(refused(heard.why, heard.figures), 409))
    else at.failed(new NoEngine(`The engine on this phone stopped: ${heard.broken}`))
    this.#send()
  }

  #broke(why: string): void {
    const error = new NoEngine(`The engine on this phone stopped${why ? `: ${why}` : ''}`)
    this.#at?.failed(error)
    this.#next?.failed(error)
    this.#at = this.#next = this.#thread = null
    this.#tackle = ''
  }
}

export const engine = new Engine()
