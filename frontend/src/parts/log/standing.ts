// The day as it stands: what the boat's computer told last, and over it what was made here since.
// It follows the journal's own rules (towscope.journal.replay): the set of entries counts, not the
// order in which they came; an undo takes back only what was named before it.
import type { Made, Queued } from '../../lib/queue'
import type { components } from '../../lib/schema'

export type LogDay = components['schemas']['LogDay']
export type Rod = components['schemas']['RodNow']

/** One entry of the list. */
export interface Item {
  id: string
  kind: string
  /** Unix time [ms]. */
  at: number
  rod: string
  fields: Record<string, unknown>
  /** As the boat's computer told it, by system of units; null where it was made or changed here. */
  words: Record<string, string> | null
  checks: { code: string; text: string }[]
  /** Whether it, or what was changed of it, still waits to be sent. */
  waiting: boolean
  /** Why it, or a change of it, was refused. */
  why: string
  /** Ids of what was refused of it: its own, or of changes. */
  refused: string[]
  /** The undo that took it back; "" where it stands. */
  undo: string
}

const MENDS = new Set(['undo', 'correct', 'clock'])

/** Gives the entries in time order, and each rod with what is out or was last. */
export function standing(
  day: LogDay | null,
  sent: Queued[],
  queued: Queued[],
): { items: Item[]; rods: Rod[] } {
  const known = new Set(day?.known ?? [])
  const local = [...sent.filter((row) => !known.has(row.id)), ...queued]
  const unsent = new Map(queued.map((row) => [row.id, row]))
  const items = new Map<string, Item>()
  for (const each of day?.entries ?? []) items.set(each.id, served(each, ''))
  for (const each of day?.undone ?? []) items.set(each.id, served(each, each.undo))
  for (const { id, event } of local) if (!MENDS.has(event.kind) && !items.has(id)) items.set(id, own(event))

  const refused = (id: string): boolean => unsent.get(id)?.why !== undefined
  const mends = local.filter(({ id }) => !refused(id)).map(({ event }) => event)
  const undos = new Map<string, string>() // undo to what it takes back
  for (const each of day?.undone ?? []) undos.set(each.undo, each.id)
  for (const event of mends) if (event.kind === 'undo') undos.set(event.id, String(event.target))
  const gone = takenBack(undos)
  for (const item of items.values()) item.undo = gone.get(item.id) ?? ''

  const changes = mends.filter((event) => event.kind === 'correct' && !gone.has(event.id))
  // by when they were made, not by name: a name goes by its phone's clock, which may be off
  const made = (event: Made): number => Date.parse(event.at)
  for (const event of changes.sort((a, b) => made(a) - made(b) || (a.id < b.id ? -1 : 1))) {
    const item = items.get(String(event.target))
    if (item && item.id < event.id) change(item, event.changes as Record<string, unknown>)
  }
  for (const { id, event, why } of queued) {
    let item = items.get(MENDS.has(event.kind) ? deep(event, undos) : id)
    // a refused change of what is not here must be seen all the same
    if (!item && why !== undefined) items.set(id, (item = own(event)))
    if (!item) continue
    if (why === undefined) item.waiting = true
    else {
      item.why = why
      item.refused.push(id)
    }
  }
  const list = [...items.values()].sort((a, b) => a.at - b.at || (a.id < b.id ? -1 : 1))
  return {
    items: list,
    rods: rodsOf(
      list.filter((item) => !item.undo && !refused(item.id)),
      day?.came,
    ),
  }
}

type Served = LogDay['entries'][number]

function served(each: Served, undo: string): Item {
  return {
    id: each.id,
    kind: each.kind,
    at: Date.parse(each.at),
    rod: each.rod,
    fields: { ...each.fields },
    words: each.words,
    checks: each.checks,
    waiting: false,
    why: '',
    refused: [],
    undo,
  }
}

function own(event: Made): Item {
  const rod = typeof event.rod === 'string' ? event.rod : ''
  const at = Date.parse(event.at)
  const { id, kind } = event
  const fields = { ...event }
  return {
    id,
    kind,
    at,
    rod,
    fields,
    words: null,
    checks: [],
    waiting: false,
    why: '',
    refused: [],
    undo: '',
  }
}

/** What is taken back, and by which undo; an undo that was itself taken back does nothing. */
function takenBack(undos: Map<string, string>): Map<string, string> {
  const gone = new Map<string, string>()
  for (const undo of [...undos.keys()].sort().reverse()) {
    const target = undos.get(undo) ?? ''
    if (!gone.has(undo) && target < undo) gone.set(target, undo)
  }
  return gone
}

/** The entry that a mend is about in the end: an undo of an undo is about what that took back. */
function deep(mend: Made, undos: Map<string, string>): string {
  let target = String(mend.target)
  for (let next = undos.get(target); next !== undefined; next = undos.get(target)) target = next
  return target
}

function change(item: Item, changes: Record<string, unknown>): void {
  for (const [key, value] of Object.entries(changes)) {
    if (value === null) delete item.fields[key]
    else item.fields[key] = value
  }
  if (typeof item.fields.at === 'string') item.at = Date.parse(item.fields.at)
  item.rod = typeof item.fields.rod === 'string' ? item.fields.rod : ''
  item.words = null
}

const text = (value: unknown): string | undefined => (typeof value === 'string' ? value : undefined)
const number = (value: unknown): number | undefined => (typeof value === 'number' ? value : undefined)

/** Each rod with what is out on it: those whose line was out as the day began, then as they were set. */
export function rodsOf(items: Item[], came: Rod[] = []): Rod[] {
  const rods = new Map(came.map((rod) => [rod.rod, rod]))
  for (const { kind, rod, fields } of items) {
    const line = rods.get(rod)
    if (kind === 'line_out') {
      const bare = { rod, out: true, rig: '', lure: '', body: '', colour: '', size_m: null, let_out_m: null }
      rods.set(rod, dressed(bare, fields))
    } else if (line?.out && kind === 'line_change') rods.set(rod, dressed(line, fields))
    else if (line?.out && kind === 'line_in') rods.set(rod, { ...line, out: false })
  }
  return [...rods.values()]
}

function dressed(line: Rod, fields: Record<string, unknown>): Rod {
  const lure = text(fields.lure)
  // what the old lure looked like says nothing about the new one
  const from =
    lure !== undefined && lure !== line.lure ? { ...line, body: '', colour: '', size_m: null } : line
  return {
    ...from,
    rig: text(fields.rig) ?? from.rig,
    lure: lure ?? from.lure,
    body: text(fields.body) ?? from.body,
    colour: text(fields.colour) ?? from.colour,
    size_m: number(fields.size_m) ?? from.size_m,
    let_out_m: number(fields.let_out_m) ?? from.let_out_m,
  }
}
