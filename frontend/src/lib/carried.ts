// The tackle that this phone carries: what the boat's computer last told, else the stock that came
// with the app.
import { api } from './api'
import { FORM, type Tackle } from './core/tackle'
import type { components } from './schema'
import { shelf } from './shelf'

type Told = components['schemas']['Carried']
export interface Carried {
  engine: Tackle
  rigs: Told['rigs']
  stock: Told['stock']
  /** Changes when the tackle does. */
  stamp: string
}

const KEY = 'tackle'

function readable(told: unknown): told is Told {
  const engine = (told as Partial<Told> | undefined)?.engine as Partial<Tackle> | undefined
  return engine?.form === FORM
}

function made(told: Told, stamp: string): Carried {
  return { engine: told.engine as unknown as Tackle, rigs: told.rigs, stock: told.stock, stamp }
}

class Aboard {
  #now: Promise<Carried> | null = null
  #times = 0

  /** What there is to answer from, the computer out of reach. */
  tackle(): Promise<Carried> {
    this.#now ??= this.#read().catch((error: unknown) => {
      this.#now = null
      throw error
    })
    return this.#now
  }

  /** Takes what the boat's computer has now, and keeps it. */
  async refresh(): Promise<void> {
    const told = await api.get('/api/tackle')
    if (!readable(told)) return // a newer computer's: what is here goes on serving
    this.#now = Promise.resolve(made(told, `told ${++this.#times}`))
    await (await shelf()).keep(KEY, told)
  }

  async #read(): Promise<Carried> {
    const kept = await (await shelf()).kept(KEY)
    if (readable(kept)) return made(kept, 'kept')
    const response = await fetch(new URL('tackle.json', document.baseURI))
    const told: unknown = response.ok ? await response.json() : null
    if (!readable(told))
      throw new Error('The tackle is not on this phone yet. Open the app once with a connection.')
    return made(told, 'stock')
  }
}

export const carried = new Aboard()
