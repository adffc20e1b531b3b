// What the lake screen has fetched, and keeps on this device, so that it shows with no connection.
import { openDB, type IDBPDatabase } from 'idb'
import { Unreached } from '../../lib/api'

const MOST = 60 // answers kept; the oldest go

interface Row {
  key: string
  atS: number
  body: unknown
}

let opened: Promise<IDBPDatabase | null> | null = null

function base(): Promise<IDBPDatabase | null> {
  opened ??= openDB('towscope-lake', 1, {
    upgrade(db) {
      db.createObjectStore('kept', { keyPath: 'key' }).createIndex('atS', 'atS')
    },
  }).catch(() => null) // a private window: nothing is kept, all else works
  return opened
}

async function find<T>(key: string): Promise<T | null> {
  try {
    const row = (await (await base())?.get('kept', key)) as Row | undefined
    return row ? (row.body as T) : null
  } catch {
    return null
  }
}

async function put(key: string, body: unknown): Promise<void> {
  try {
    const db = await base()
    if (!db) return
    await db.put('kept', { key, atS: Date.now() / 1000, body } satisfies Row)
    const keys = await db.getAllKeysFromIndex('kept', 'atS')
    for (const old of keys.slice(0, Math.max(0, keys.length - MOST))) await db.delete('kept', old)
  } catch {
    // full: the screen works from what it has in hand
  }
}

export interface Shown<T> {
  value: T
  /** Whether it is what was kept, for want of a connection. */
  old: boolean
}

/**
 * Asks, and keeps the answer; with no connection gives what was kept. `early` is given what was
 * kept before the answer comes.
 */
export async function remembered<T>(
  key: string,
  ask: () => Promise<T>,
  early?: (value: T) => void,
): Promise<Shown<T>> {
  let answered = false
  const before = find<T>(key)
  if (early)
    void before.then((value) => {
      if (value !== null && !answered) early(value)
    })
  try {
    const value = await ask()
    answered = true
    void put(key, value)
    return { value, old: false }
  } catch (error) {
    if (!(error instanceof Unreached)) throw error
    const value = await before
    if (value === null) throw error
    return { value, old: true }
  }
}
