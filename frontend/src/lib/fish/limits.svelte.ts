// The crew's own limits: on this device first, and from there to the boat's computer as soon as that can
// be reached. What is entered here holds at once, with or without a connection.
import { api, Refused, word } from '../api'
import { clock } from '../clock.svelte'
import { shelf } from '../shelf'
import { live } from '../stream'
import { units } from '../units'
import { dayAt } from '../when'
import type { Limit } from './limits'

const HERE = 'limits'
const UNSENT = 'limits-unsent'

/** What was entered or deleted here and is not yet on the boat's computer. */
type Change = { enter: Limit } | { remove: Pick<Limit, 'water' | 'species'> }

const same = (a: Pick<Limit, 'water' | 'species'>, b: Pick<Limit, 'water' | 'species'>): boolean =>
  a.water === b.water && a.species === b.species

class Limits {
  all = $state.raw<Limit[]>([])
  /** Why the boat's computer can't read its own file; "" where it can. */
  trouble = $state('')
  #unsent: Change[] = []
  #begun = false
  #sending: Promise<void> | null = null

  /** The waters that there are limits for. */
  get waters(): string[] {
    return [...new Set(this.all.map((one) => one.water))]
  }

  /** The limits for a fish on a water. */
  of(water: string, species: string): Limit | undefined {
    return this.all.find((one) => same(one, { water, species }))
  }

  /** Begins: what is kept here, then what the boat's computer has; safe to call again. */
  async start(): Promise<void> {
    if (!this.#begun) {
      this.#begun = true
      const place = await shelf()
      this.all = ((await place.kept(HERE)) as Limit[] | undefined) ?? []
      this.#unsent = ((await place.kept(UNSENT)) as Change[] | undefined) ?? []
      live.onBack(() => void this.#meet())
    }
    await this.#meet()
  }

  /** Enters limits in place of those there were for that fish on that water, checked today. */
  async enter(limit: Limit): Promise<void> {
    const checked = dayAt(clock.boatMs(Date.now()))
    const others = this.all.filter((one) => !same(one, limit))
    // where they are from, and when that was looked up, is said once for a water
    const told = others.map((one) =>
      one.water === limit.water ? { ...one, source: limit.source, checked } : one,
    )
    await this.#take([...told, { ...limit, checked }], { enter: limit })
  }

  /** Deletes the limits for a fish on a water. */
  async remove({ water, species }: Limit): Promise<void> {
    const gone = { water, species }
    await this.#take(
      this.all.filter((one) => !same(one, gone)),
      { remove: gone },
    )
  }

  async #take(all: Limit[], change: Change): Promise<void> {
    this.all = all
    this.#unsent.push(change)
    await this.#keep()
    await this.#meet()
  }

  async #keep(): Promise<void> {
    const place = await shelf()
    await Promise.all([place.keep(HERE, this.all), place.keep(UNSENT, this.#unsent)])
  }

  /** Sends what waits and asks what there is; where nobody answers, what is here goes on serving. */
  async #meet(): Promise<void> {
    if (this.#sending) return this.#sending
    this.#sending = this.#exchange().finally(() => (this.#sending = null))
    return this.#sending
  }

  async #exchange(): Promise<void> {
    let refused = ''
    try {
      for (let next = this.#unsent[0]; next; next = this.#unsent[0]) {
        try {
          if ('enter' in next)
            await api.put('/api/fish/limits', { query: { units: units.system }, body: next.enter })
          else await api.delete('/api/fish/limits', { query: next.remove })
        } catch (error) {
          if (!(error instanceof Refused) || error.status !== 422) throw error
          refused = word(error)
        }
        this.#unsent.shift()
        await this.#keep()
      }
      const told = await api.get('/api/fish/limits')
      // a file that can't be read there takes nothing away here
      if (!told.trouble && !this.#unsent.length) this.all = told.limits
      this.trouble = refused || told.trouble
      await this.#keep()
    } catch {
      // not in reach: sent when it is
    }
  }
}

export const limits = new Limits()
