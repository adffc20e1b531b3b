// @vitest-environment happy-dom
import 'fake-indexeddb/auto'
import { IDBFactory } from 'fake-indexeddb'
import { beforeEach, describe, expect, it, vi } from 'vitest'
import type { Made } from './shelf'

interface Sent {
  events: Made[]
  sent_at: string
}
type Reply = { status: number; body: unknown }

let batches: Sent[] = []
/** What the boat's computer makes of a batch. */
let reply: (sent: Sent) => Reply

const taken = (sent: Sent): Reply => ({
  status: 200,
  body: { answers: sent.events.map(({ id }) => ({ id, state: 'taken', why: '' })) },
})
const refused = (status: number, error: string): Reply => ({ status, body: { error } })
const noNetwork = (): Reply => {
  throw new TypeError('Failed to fetch')
}

function entry(n: number, more: object = {}): Made {
  const id = `01900000-0000-7000-8000-${String(n).padStart(12, '0')}`
  return { id, device: 'this phone', kind: 'note', at: '2026-08-15T07:42:00-05:00', ...more }
}

/** Tabs that hear nothing of one another. */
class NoOther {
  onmessage = null
  postMessage(): void {}
}

/** A page opened anew on the same device. */
async function opened() {
  vi.resetModules()
  const { queue } = await import('./queue')
  const { clock } = await import('./clock.svelte')
  return { queue, clock }
}

beforeEach(() => {
  batches = []
  reply = taken
  vi.stubGlobal('indexedDB', new IDBFactory())
  vi.stubGlobal('BroadcastChannel', NoOther)
  vi.stubGlobal('fetch', async (url: string, init: RequestInit) => {
    if (url !== '/api/journal/events') throw new TypeError('Failed to fetch')
    const sent = JSON.parse(init.body as string) as Sent
    batches.push(sent)
    const { status, body } = reply(sent)
    const headers = { 'Content-Type': 'application/json' }
    return new Response(JSON.stringify(body), { status, headers })
  })
})

describe('an entry', () => {
  it('is sent at once, and kept until the day tells it', async () => {
    const { queue } = await opened()
    await queue.add(entry(1))
    await vi.waitFor(() => expect(queue.sent.map((row) => row.id)).toEqual([entry(1).id]))
    expect(queue.rows).toEqual([])
    expect(batches.flatMap((each) => each.events)).toEqual([entry(1)])
    await queue.seen(new Set([entry(1).id]))
    expect(queue.sent).toEqual([])
  })

  it('outlasts the page where nothing can be reached, and is sent from the next', async () => {
    reply = noNetwork
    const before = (await opened()).queue
    await before.add(entry(1))
    await vi.waitFor(() => expect(batches.length).toBeGreaterThan(0))
    expect(before.waiting).toBe(1)
    expect(before.lasts).toBe(true)
    expect(before.trouble).toBe('') // no connection is no trouble: it waits
    reply = taken
    const { queue } = await opened()
    await vi.waitFor(() => expect(queue.sent).toHaveLength(1))
  })

  it('that is refused is set aside with why, and keeps no other waiting', async () => {
    reply = ({ events }) => ({
      status: 200,
      body: {
        answers: events.map(({ id, text }) =>
          text === 'bad' ? { id, state: 'refused', why: 'no such rod' } : { id, state: 'taken', why: '' },
        ),
      },
    })
    const { queue } = await opened()
    await queue.add(entry(1, { text: 'bad' }))
    await queue.add(entry(2))
    await vi.waitFor(() => expect(queue.sent.map((row) => row.id)).toEqual([entry(2).id]))
    expect(queue.rows).toMatchObject([{ id: entry(1).id, why: 'no such rod' }])
    expect([queue.waiting, queue.refused]).toEqual([0, 1])

    reply = taken
    await queue.again([entry(1).id])
    await vi.waitFor(() => expect(queue.sent).toHaveLength(2))
  })

  it('is discarded only where it was refused', async () => {
    reply = noNetwork
    const { queue } = await opened()
    await queue.add(entry(1))
    await queue.drop([entry(1).id])
    expect(queue.rows).toHaveLength(1)
  })
})

describe('a batch that is not taken', () => {
  it('is halved until the one that no computer takes is found', async () => {
    reply = (sent) =>
      sent.events.some(({ text }) => text === 'bad') ? refused(422, 'no such kind') : taken(sent)
    const before = reply
    reply = noNetwork
    const { queue } = await opened()
    for (let n = 0; n < 9; n++) await queue.add(entry(n, n === 4 ? { text: 'bad' } : {}))
    reply = before
    queue.send()
    await vi.waitFor(() => expect(queue.sent).toHaveLength(8))
    await vi.waitFor(() => expect(queue.refused).toBe(1))
    expect(queue.rows[0]).toMatchObject({ id: entry(4).id, why: 'no such kind' })
    expect(queue.trouble).toBe('')
  })

  it.each([401, 403, 429, 503])('for a reason that is about no entry (%d) waits whole', async (status) => {
    reply = () => refused(status, 'not now')
    const { queue } = await opened()
    await queue.add(entry(1))
    await vi.waitFor(() => expect(queue.trouble).toBe('not now'))
    expect([queue.waiting, queue.refused]).toEqual([1, 0])
  })

  it('where each fails alone, is not the entries’ fault: none is set aside', async () => {
    reply = noNetwork
    const { queue } = await opened()
    for (let n = 0; n < 5; n++) await queue.add(entry(n))
    reply = () => refused(500, 'a fault in towscope itself')
    queue.send()
    await vi.waitFor(() => expect(queue.trouble).toMatch(/fault/))
    expect([queue.waiting, queue.refused]).toEqual([5, 0])
  })

  it('is not believed taken by an answer that is not about it', async () => {
    reply = () => ({ status: 200, body: { answers: [] } })
    const { queue } = await opened()
    await queue.add(entry(1))
    await vi.waitFor(() => expect(queue.trouble).toMatch(/not about what was sent/))
    expect(queue.waiting).toBe(1)
    expect(queue.sent).toEqual([])
  })
})

it('what was made before this device’s clock was set back is told by the clock as it is now', async () => {
  reply = noNetwork
  const { queue, clock } = await opened()
  await queue.add(entry(1))
  await queue.add(entry(2, { clock_ahead_s: 3600 })) // its error is known: it is set right aboard
  const now = Date.now.bind(Date)
  vi.spyOn(Date, 'now').mockImplementation(() => now() - 3_600_000)
  clock.look()
  const hourBefore = Date.parse('2026-08-15T06:42:00-05:00')
  const told = () => Date.parse(queue.rows[0]?.event.at ?? '')
  await vi.waitFor(() => expect(Math.abs(told() - hourBefore)).toBeLessThanOrEqual(1000))
  expect(queue.rows[1]?.event.at).toBe('2026-08-15T07:42:00-05:00')
})
