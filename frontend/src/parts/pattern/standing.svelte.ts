// An answer that takes seconds: shown as it stands, followed while a task renews it. The last one is
// kept on the device, and shown with its age where the boat's computer is not in reach.
import { untrack } from 'svelte'
import { api, Unreached, word } from '../../lib/api'
import type { Job } from '../../lib/job'
import { shelf } from '../../lib/shelf'

interface Said<A> {
  state: string
  as_of?: string | null
  job?: string
  why?: string
  answer?: A | null
}

const LOOK_MS = 500
const pause = (ms: number) => new Promise((done) => setTimeout(done, ms))

export class Standing<A> {
  said = $state.raw<Said<A> | null>(null)
  job = $state.raw<Job | null>(null)
  error = $state('')
  /** Whether an answer is awaited. */
  busy = $state(false)
  #round = 0
  #ask: ((again: boolean) => Promise<Said<A>>) | null = null
  #of = ''

  /** `key` is where the last answer is kept; `recalled` hears of it when it is shown. */
  constructor(
    private readonly key = '',
    private readonly recalled: (said: Said<unknown>) => void = () => undefined,
  ) {}

  get answer(): A | null {
    return this.said?.answer ?? null
  }

  /**
   * Asks, shows what stands, and asks again when the task is done; `of` says what is asked. An effect
   * that calls it does not run again for what it shows: each answer would ask for the next.
   */
  load(ask: (again: boolean) => Promise<Said<A>>, of = this.#of, again = false): Promise<void> {
    return untrack(() => this.#load(ask, of, again))
  }

  async #load(ask: (again: boolean) => Promise<Said<A>>, of: string, again: boolean): Promise<void> {
    const round = ++this.#round
    this.#ask = ask
    this.#of = of
    this.error = ''
    this.busy = true
    if (this.key && !this.said) await this.#recall(round)
    if (round !== this.#round) return
    try {
      for (;;) {
        const said = await ask(again)
        if (round !== this.#round) return
        this.said = said
        if (!said.job) {
          this.job = null
          if (this.key && said.answer) await (await shelf()).keep(this.key, { of, said })
          return
        }
        again = false
        if (!(await this.#follow(said.job, round))) return
      }
    } catch (error) {
      if (round !== this.#round) return
      this.job = null
      this.error = word(error)
    } finally {
      if (round === this.#round) this.busy = false
    }
  }

  /** Tries once more what failed or was stopped. */
  async again(): Promise<void> {
    if (this.#ask) await this.load(this.#ask, this.#of, true)
  }

  async stop(): Promise<void> {
    if (this.job) await api.delete('/api/jobs/{name}', { path: { name: this.job.id } })
  }

  /** Leaves off following: the screen is gone. */
  leave(): void {
    this.#round += 1
  }

  async #recall(round: number): Promise<void> {
    const kept = (await (await shelf()).kept(this.key)) as { of: string; said: Said<A> } | undefined
    if (round !== this.#round || this.said || kept?.of !== this.#of) return
    this.said = kept.said
    this.recalled(kept.said)
  }

  async #follow(id: string, round: number): Promise<boolean> {
    for (;;) {
      try {
        const job = await api.get('/api/jobs/{name}', { path: { name: id } })
        if (round !== this.#round) return false
        this.job = job
        if (job.state !== 'going') return true
        await pause(LOOK_MS)
      } catch (error) {
        if (!(error instanceof Unreached)) throw error
        await pause(4 * LOOK_MS) // the boat's Wi-Fi dropped: the task goes on without us
      }
      if (round !== this.#round) return false
    }
  }
}
