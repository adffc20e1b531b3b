// Entries made on this device go to its own storage first, and from there to the boat's computer as
// soon as that can be reached. One leaves the queue only when it is acknowledged: then it is on that
// computer's disk. Sending twice does no harm: each has an id of its own. One that the computer
// cannot take is set aside where the crew can see it, and keeps no other waiting.
import { Refused, send, Unreached, word } from './api'
import { clock } from './clock.svelte'
import { shelf, type Made, type Queued } from './shelf'
import type { components } from './schema'
import { live } from './stream'
import { shifted } from './when'

export type { Made, Queued } from './shelf'
type Taken = components['schemas']['LogTaken']

const BATCH = 40
const ENOUGH = 3 // entries that fail alone, and none that does not: the fault is not theirs
const LATER = new Set([401, 403, 429, 503]) // answers that are about no entry
const PATIENCE_MS = 12_000
const WAIT_S = [1, 2, 4, 8, 15, 30]
const OTHER_TAB_S = 1.5
const LOCK = 'towscope-queue'

class Queue {
  /** What is in it, in order of making: waiting, or refused (`why`). */
  rows = $state.raw<Queued[]>([])
  /** What was acknowledged, and not yet seen in the day that the boat's computer tells. */
  sent = $state.raw<Queued[]>([])
  /** What keeps entries from being taken, other than the connection; "" where all is well. */
  trouble = $state('')
  /** How many are on their way to the device's storage. */
  storing = $state(0)
  /** Whether entries outlast this page; false where the browser keeps nothing. */
  lasts = $state(true)
  #sending = false
  #again = false
  #order: Promise<unknown> = Promise.resolve() // storing and setting right, one after the other
  #tries = 0
  #timer: ReturnType<typeof setTimeout> | undefined
  #tabs = 'BroadcastChannel' in globalThis ? new BroadcastChannel(LOCK) : null

  constructor() {
    if (this.#tabs) this.#tabs.onmessage = () => void this.#look()
    addEventListener('online', () => this.send())
    document.addEventListener('visibilitychange', () => {
      if (!document.hidden) this.send()
    })
    live.onBack(() => this.send())
    clock.onSetBack((by) => void this.#inOrder(() => this.#setBack(by)))
    void this.#look().then(() => this.send())
  }

  /** How many wait to be sent. */
  get waiting(): number {
    return this.rows.filter((row) => row.why === undefined).length
  }

  /** How many were refused and wait for the crew. */
  get refused(): number {
    return this.rows.length - this.waiting
  }

  /** Adds an entry; when this resolves it is on the device's storage. */
  async add(event: Made): Promise<void> {
    // at once in its turn: what was made before the clock was set is set right, what was made after is not
    const stored = this.#inOrder(async () => (await shelf()).put({ id: event.id, event }))
    this.storing += 1
    try {
      await stored
      if (this.rows.length === 0) void navigator.storage?.persist?.().catch(() => false)
      await this.#look()
    } finally {
      this.storing -= 1
    }
    this.#tabs?.postMessage('changed')
    this.send()
  }

  /** Takes in entries of a file; what is here already stays as it is. Gives how many were new. */
  async take(events: readonly Made[]): Promise<number> {
    const fresh = await this.#inOrder(async () => {
      const place = await shelf()
      const [waiting, sent] = await Promise.all([place.all('queue'), place.all('sent')])
      const known = new Set([...waiting, ...sent].map((row) => row.id))
      const rows = new Map(events.map((event) => [event.id, { id: event.id, event }]))
      for (const id of known) rows.delete(id)
      await place.settle([], [...rows.values()])
      return rows.size
    })
    await this.#look()
    this.#tabs?.postMessage('changed')
    this.send()
    return fresh
  }

  #inOrder<T>(work: () => Promise<T>): Promise<T> {
    const done = this.#order.then(work)
    this.#order = done.catch(() => undefined)
    return done
  }

  /** Tries refused ones again. */
  async again(ids: string[]): Promise<void> {
    const rows = this.rows.filter((row) => row.why !== undefined && ids.includes(row.id))
    await (
      await shelf()
    ).settle(
      [],
      rows.map(({ id, event }) => ({ id, event })),
    )
    await this.#look()
    this.send()
  }

  /**
   * This device's clock was set back: what waits, and was made before its error was known, is told by
   * the clock as it is now, for by that it is set right when it is sent.
   */
  async #setBack(byMs: number): Promise<void> {
    const place = await shelf()
    const rows = (await place.all('queue')).filter((row) => row.event.clock_ahead_s === undefined)
    await place.settle(
      [],
      rows.map((row) => ({ ...row, event: { ...row.event, at: shifted(row.event.at, byMs) } })),
    )
    await this.#look()
  }

  /** Discards entries that were refused. */
  async drop(ids: string[]): Promise<void> {
    const refused = new Set(this.rows.filter((row) => row.why !== undefined).map((row) => row.id))
    await (
      await shelf()
    ).remove(
      'queue',
      ids.filter((id) => refused.has(id)),
    )
    await this.#look()
    this.#tabs?.postMessage('changed')
  }

  /** The boat's computer tells these ids now: they need not be kept here any more. */
  async seen(ids: ReadonlySet<string>): Promise<void> {
    const known = this.sent.filter((row) => ids.has(row.id)).map((row) => row.id)
    if (!known.length) return
    await (await shelf()).remove('sent', known)
    await this.#look()
  }

  /** Sends what waits, now or as soon as it can be; safe to call at any time. */
  send(): void {
    this.#tries = 0
    clearTimeout(this.#timer)
    void this.#send()
  }

  async #look(): Promise<void> {
    const place = await shelf()
    const [rows, sent] = await Promise.all([place.all('queue'), place.all('sent')])
    this.lasts = place.lasts
    this.rows = rows
    this.sent = sent
  }

  async #send(): Promise<void> {
    if (this.#sending) {
      this.#again = true
      return
    }
    this.#sending = true
    this.#again = false
    let wait = 0
    try {
      const mine = await this.#alone(() => this.#drain())
      if (!mine)
        wait = OTHER_TAB_S // another tab is at it: look again soon
      else this.#tries = 0
    } catch (error) {
      if (!(error instanceof Unreached)) this.trouble = word(error)
      wait = WAIT_S[Math.min(this.#tries, WAIT_S.length - 1)] ?? 30
      this.#tries += 1
    } finally {
      this.#sending = false
    }
    clearTimeout(this.#timer)
    if (wait) this.#timer = setTimeout(() => void this.#send(), wait * 1000)
    else if (this.#again) void this.#send()
  }

  /** Does the work unless another tab of this device is doing it; says whether it was done. */
  async #alone(work: () => Promise<void>): Promise<boolean> {
    if (!navigator.locks) {
      await work() // twice at worst, and each entry has its id
      return true
    }
    return navigator.locks.request(LOCK, { ifAvailable: true }, async (lock) => {
      if (!lock) return false
      await work()
      return true
    })
  }

  async #drain(): Promise<void> {
    const place = await shelf()
    const alone = new Map<string, Refused>() // failed each by itself
    let some = false
    let most = BATCH
    for (;;) {
      clock.look() // set back just now: told anew before it is sent
      await this.#order
      const waiting = (await place.all('queue')).filter((row) => row.why === undefined)
      const rows = waiting.filter((row) => !alone.has(row.id)).slice(0, most)
      if (!rows.length) break
      let answers: Taken['answers']
      try {
        answers = (await ask(rows.map((row) => row.event))).answers
        if (answers.length !== rows.length) throw new Refused('The answer was not about what was sent', 502)
      } catch (error) {
        if (!(error instanceof Refused) || LATER.has(error.status)) throw error
        const [first] = rows
        if (rows.length > 1) most = Math.ceil(rows.length / 2)
        else if (first) {
          alone.set(first.id, error)
          most = BATCH
          if (!some && alone.size >= ENOUGH) throw error
        }
        continue
      }
      // by their order: an id that no disk takes comes back in other words
      const sent = rows.filter((_, n) => answers[n]?.state !== 'refused')
      const refused = rows
        .map((row, n) => ({ ...row, why: answers[n]?.why || 'no reason given' }))
        .filter((_, n) => answers[n]?.state === 'refused')
      some ||= sent.length > 0
      await place.settle(sent, refused)
      await this.#look()
      this.#tabs?.postMessage('changed')
    }
    const [failed] = alone.values()
    if (failed && !some) throw failed
    if (failed) {
      const rows = (await place.all('queue')).filter((row) => alone.has(row.id))
      await place.settle(
        [],
        rows.map((row) => ({ ...row, why: alone.get(row.id)?.message || 'no reason given' })),
      )
      await this.#look()
    }
    this.trouble = ''
  }
}

async function ask(events: Made[]): Promise<Taken> {
  const stop = new AbortController()
  const timer = setTimeout(() => stop.abort(), PATIENCE_MS)
  try {
    const response = await send('POST', '/api/journal/events', {
      body: JSON.stringify({ events, sent_at: new Date().toISOString() }),
      headers: { 'Content-Type': 'application/json' },
      signal: stop.signal,
    })
    return (await response.json()) as Taken
  } catch (error) {
    if (error instanceof Refused) throw error
    throw new Unreached() // cut off or too slow: whether it was taken we hear the next time
  } finally {
    clearTimeout(timer)
  }
}

/** The one queue of this page. */
export const queue = new Queue()
