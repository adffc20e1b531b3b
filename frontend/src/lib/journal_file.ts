// The log as a file, and such a file read: JSON Lines as the journal exchanges them on the computer
// (towscope.journal.exchange): a head, an entry a line, and a tail that counts them.
import type { Made } from './shelf'

const FORMAT = 1

/** The file is no journal, or not all of one; `message` says what is wrong. */
export class NoJournal extends Error {}

/** Entries as a file, told by this device at a moment [ms]. */
export function written(entries: readonly Made[], device: string, ms: number): string {
  const lines: object[] = [{ towscope_journal: FORMAT, device, written: new Date(ms).toISOString() }]
  const ordered = [...entries].sort((a, b) => (a.id < b.id ? -1 : a.id > b.id ? 1 : 0))
  lines.push(...ordered.map((entry) => ({ entry })))
  lines.push({ end: { entries: ordered.length, stretches: 0 } })
  return lines.map((line) => `${JSON.stringify(line)}\n`).join('')
}

function isObject(value: unknown): value is Record<string, unknown> {
  return typeof value === 'object' && value !== null && !Array.isArray(value)
}

/** Whether it has what every entry has. */
function isEntry(value: unknown): value is Made {
  return (
    isObject(value) &&
    ['id', 'device', 'kind', 'at'].every((key) => typeof value[key] === 'string' && value[key] !== '') &&
    Number.isFinite(Date.parse(value.at as string))
  )
}

/** The entries of a file, and how many stretches of track it has; throws `NoJournal`. */
export function readFile(text: string): { entries: Made[]; stretches: number } {
  const lines = text.replace(/^\ufeff/, '').split('\n')
  if (lines.at(-1) === '') lines.pop()
  const entries: Made[] = []
  let stretches = 0
  let ended = false
  lines.forEach((line, n) => {
    const where = `Line ${n + 1}`
    let body: unknown
    try {
      body = JSON.parse(line)
    } catch {
      throw new NoJournal(n ? `${where} is cut short or damaged; nothing was added` : NONE)
    }
    if (!isObject(body)) throw new NoJournal(n ? `${where} is damaged; nothing was added` : NONE)
    if (n === 0) {
      if (!('towscope_journal' in body)) throw new NoJournal(NONE)
      if (body.towscope_journal !== FORMAT)
        throw new NoJournal(
          'That file is from a newer towscope: get the new version first; nothing was added',
        )
    } else if (ended) throw new NoJournal(`${where} comes after the end; nothing was added`)
    else if (isEntry(body.entry)) entries.push(body.entry)
    else if (isObject(body.stretch)) stretches += 1
    else if (isObject(body.end)) {
      ended = true
      if (body.end.entries !== entries.length || body.end.stretches !== stretches)
        throw new NoJournal('Lines are missing from that file; nothing was added')
    } else throw new NoJournal(`${where} is no entry; nothing was added`)
  })
  if (!ended) throw new NoJournal(lines.length ? 'That file is cut short; nothing was added' : NONE)
  return { entries, stretches }
}

const NONE = 'That is no file of a log: it ends in .jsonl, and its first line says that it is one'
