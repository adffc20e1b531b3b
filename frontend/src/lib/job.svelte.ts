// A long task on the boat's computer: how far it is, its end, and how it is stopped.
import { api, Refused, Unreached, word } from './api'
import type { components } from './schema'

export type Job = components['schemas']['Job']

const POLL_MS = 400

/** One long task, as `parts/Progress.svelte` shows it. */
export class Task<T = unknown> {
  job = $state.raw<Job | null>(null)
  error = $state('')
  #round = 0

  get going(): boolean {
    return this.job?.state === 'going'
  }

  get result(): T | null {
    return this.job?.state === 'done' ? (this.job.result as T) : null
  }

  /**
   * Starts it and follows it to its end: `begin` asks the back end and gives the job.
   * Gives what it came to, or null where it failed or was stopped (`error` says why).
   */
  async run(begin: () => Promise<Job>): Promise<T | null> {
    const round = ++this.#round
    this.error = ''
    this.job = null
    try {
      let job = await begin()
      this.job = job
      while (job.state === 'going') {
        await new Promise((done) => setTimeout(done, POLL_MS))
        if (round !== this.#round) return null
        try {
          job = await api.get('/api/jobs/{name}', { path: { name: job.id } })
        } catch (error) {
          if (!(error instanceof Unreached)) throw error
          continue // the boat's Wi-Fi dropped: the task goes on without us
        }
        if (round !== this.#round) return null
        this.job = job
      }
      if (job.state === 'failed') this.error = job.error ?? 'It failed'
      return this.result
    } catch (error) {
      if (round === this.#round) {
        this.error = word(error)
        if (error instanceof Refused && this.job) this.job = { ...this.job, state: 'failed' }
      }
      return null
    }
  }

  /** Tells it to stop; it does at its next step. */
  async stop(): Promise<void> {
    if (!this.job) return
    try {
      await api.delete('/api/jobs/{name}', { path: { name: this.job.id } })
    } catch (error) {
      this.error = word(error)
    }
  }
}
