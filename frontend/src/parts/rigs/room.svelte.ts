// The rigs room: what is aboard, which rig is looked at or being built, and the ways between.
import { api, Unreached, word } from '../../lib/api'
import { over } from '../../lib/back'
import { carried } from '../../lib/carried'
import { drafted } from '../../lib/draft'
import { draftOf, spec, type Draft } from './spec'
import { aboard, storeAboard } from './stored'
import type { RigIn, RigShown, Rigs, Stock } from './types'

export type View = 'first' | 'live' | 'build' | 'calibrate'

/** To be made while a component is: it keeps the draft, and the phone's Back goes back in it first. */
export class Room {
  rigs = $state.raw<Rigs | null>(null)
  stock = $state.raw<Stock | null>(null)
  error = $state('')
  /** Whether the boat's computer is out of reach: what was stored of it serves. */
  away = $state(false)
  view = $state<View>('live')
  /** The rig aboard that is looked at; "" for a draft. */
  name = $state('')
  /** One that is not saved yet. */
  draft = $state<Draft | null>(null)
  /** The rig that the draft began as. */
  begunAs = $state('')
  /** What was done, to be read once. */
  said = $state('')

  readonly rig: RigShown | null = $derived(this.rigs?.rigs.find((each) => each.name === this.name) ?? null)
  readonly made: RigIn | null = $derived(this.draft && this.stock ? spec(this.draft, this.stock) : null)
  readonly title: string = $derived(
    this.draft
      ? this.begunAs
        ? `${this.calledOf(this.begunAs)}, changed`
        : 'A new rig'
      : this.calledOf(this.name),
  )
  // the stock's examples are for a crew that has none of its own
  readonly shown: RigShown[] = $derived.by(() => {
    const all = this.rigs?.rigs ?? []
    const own = all.filter((each) => each.own)
    return own.length ? own : all
  })

  // A rig that is not saved yet outlasts a reload.
  readonly #half = drafted<{ draft: Draft; begunAs: string; view: View }>('rigs.draft')
  readonly #left = this.#half.get() // as it was left: what follows drops what is kept of it

  constructor() {
    $effect(() => {
      if (this.view === 'build' || this.view === 'calibrate') return over(() => this.back())
    })
    $effect(() => {
      if (this.draft)
        this.#half.put({
          draft: $state.snapshot(this.draft),
          begunAs: this.begunAs,
          view: this.view,
        })
      else if (this.rigs) this.#half.drop()
    })
  }

  async load(): Promise<void> {
    try {
      const [rigs, stock] = await Promise.all([api.get('/api/rigs'), api.get('/api/stock')])
      this.rigs = rigs
      this.stock = stock
      this.away = false
      this.error = ''
      storeAboard(rigs, stock)
      void carried.refresh().catch(() => undefined) // for when it is out of reach
    } catch (caught) {
      if (!(caught instanceof Unreached)) this.error = word(caught)
      else await this.#alone()
    }
  }

  /** What this phone carries serves. */
  async #alone(): Promise<void> {
    try {
      const { rigs, stock } = aboard() ?? (await carried.tackle())
      this.rigs = rigs
      this.stock = stock
      this.away = true
      this.error = ''
    } catch (caught) {
      this.error = word(caught)
    }
  }

  /** Where the room opens: a draft, else the rig asked for, else the crew's own, else the first steps. */
  open(asked: string | null, last: string): void {
    const half = this.#left
    if (half?.draft && Array.isArray(half.draft.pieces) && asked === null) {
      this.draft = half.draft
      this.begunAs = half.begunAs
      this.view = half.view === 'build' ? 'build' : 'live'
      return
    }
    const rigs = this.rigs?.rigs ?? []
    const begin = this.rigs?.begin
    const known = rigs.find((each) => each.name === (asked ?? last))
    const mine = rigs.find((each) => each.own)
    // with no connection nothing new can be begun: what was asked last is stored
    if (known && (known.own || this.away || asked !== null || !begin)) this.choose(known.name)
    else if (mine) this.choose(mine.name)
    else if (begin || !rigs.length) this.view = 'first'
    else this.choose(rigs[0]!.name)
  }

  choose(name: string): void {
    this.#to('live', name, null)
  }

  begin(draft: Draft, view: View = 'live'): void {
    this.#to(view, '', draft)
  }

  #to(view: View, name: string, draft: Draft | null): void {
    this.name = name
    this.draft = draft
    this.begunAs = ''
    this.said = ''
    this.view = view
  }

  /** From building or calibrating to the answer. */
  back(): void {
    const was = this.rigs?.rigs.find((each) => each.name === this.begunAs)
    // nothing changed: the rig is still the one that is saved
    if (this.draft && was && JSON.stringify(this.draft) === JSON.stringify(draftOf(was)))
      this.choose(was.name)
    else this.view = 'live'
  }

  change(): void {
    const { rig } = this
    if (rig && !this.draft) {
      this.draft = draftOf(rig)
      this.begunAs = rig.own ? rig.name : ''
      this.name = ''
    }
    this.said = ''
    this.view = 'build'
  }

  async drop(): Promise<void> {
    try {
      await api.delete('/api/rigs/{name}', { path: { name: this.name } })
      await this.load()
      const mine = this.rigs?.rigs.find((each) => each.own)
      if (mine) this.choose(mine.name)
      else this.#to('first', '', null)
    } catch (caught) {
      this.error = word(caught)
    }
  }

  /** What the crew calls a rig. */
  calledOf(key: string): string {
    return this.rigs?.rigs.find((each) => each.name === key)?.title ?? key
  }
}
