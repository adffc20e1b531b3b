// The days with entries, and the one that is looked at; what was shown last serves with no connection.
import { api, word } from '../../lib/api'
import { shelf } from '../../lib/shelf'
import type { Day, Days } from './types'

export class DaysShown {
  list = $state.raw<Days | null>(null)
  /** The day looked at, by its date. */
  pick = $state('')
  day = $state.raw<Day | null>(null)
  trouble = $state('')

  /** Kinds of fish of that day. */
  readonly kinds: string[] = $derived([
    ...new Set((this.day?.spots ?? []).map((spot) => spot.species).filter(Boolean)),
  ])

  /** Asks for the list of days anew. */
  async follow(): Promise<void> {
    const place = await shelf()
    try {
      this.list ??= ((await place.kept('pattern-list')) as Days | undefined) ?? null
      this.pick ||= this.list?.days[0]?.day ?? ''
      this.list = await api.get('/api/days')
      this.pick ||= this.list.days[0]?.day ?? ''
      this.trouble = ''
      await place.keep('pattern-list', this.list)
    } catch (error) {
      this.trouble = word(error)
    }
  }

  /** Asks for a day; another one picked meanwhile wins. */
  async read(asked: string): Promise<void> {
    const place = await shelf()
    try {
      const kept = this.day ? undefined : ((await place.kept('pattern-day')) as Day | undefined)
      if (kept?.day === asked && asked === this.pick) this.day ??= kept
      const told = await api.get('/api/days/{day}', { path: { day: asked } })
      if (asked === this.pick) this.day = told
      await place.keep('pattern-day', told)
    } catch (error) {
      this.trouble = word(error)
    }
  }
}
