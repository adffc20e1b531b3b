// What this device keeps in IndexedDB: entries that wait to be sent, entries that were sent but not
// yet seen back, and what the log needs to go on without a connection.
import { openDB, type DBSchema, type IDBPDatabase } from 'idb'

/** An entry as it was made here: the journal's own fields. */
export interface Made {
  id: string
  device: string
  kind: string
  at: string
  [field: string]: unknown
}

/** An entry in the queue; `why` is set once the boat's computer has refused it. */
export interface Queued {
  id: string
  event: Made
  why?: string
}

interface Kept extends DBSchema {
  queue: { key: string; value: Queued }
  sent: { key: string; value: Queued }
  things: { key: string; value: unknown }
}

export interface Shelf {
  /** Whether it outlasts the page. */
  readonly lasts: boolean
  all(of: 'queue' | 'sent'): Promise<Queued[]>
  /** On the device's storage when it resolves. */
  put(row: Queued): Promise<void>
  /** Takes sent ones out of the queue and puts changed ones into it, all at once. */
  settle(sent: Queued[], changed: Queued[]): Promise<void>
  remove(from: 'queue' | 'sent', ids: string[]): Promise<void>
  keep(key: string, thing: unknown): Promise<void>
  kept(key: string): Promise<unknown>
}

const BY_ID = (a: Queued, b: Queued): number => (a.id < b.id ? -1 : a.id > b.id ? 1 : 0)

class OnDevice implements Shelf {
  readonly lasts = true
  constructor(private readonly db: IDBPDatabase<Kept>) {}

  async all(of: 'queue' | 'sent'): Promise<Queued[]> {
    return this.db.getAll(of) // keys sort by time made
  }

  async put(row: Queued): Promise<void> {
    const tx = this.db.transaction('queue', 'readwrite', { durability: 'strict' })
    await Promise.all([tx.store.put(row), tx.done])
  }

  async settle(sent: Queued[], changed: Queued[]): Promise<void> {
    const tx = this.db.transaction(['queue', 'sent'], 'readwrite', { durability: 'strict' })
    const queue = tx.objectStore('queue')
    const work: Promise<unknown>[] = []
    for (const row of sent) work.push(tx.objectStore('sent').put(row), queue.delete(row.id))
    for (const row of changed) work.push(queue.put(row))
    await Promise.all([...work, tx.done])
  }

  async remove(from: 'queue' | 'sent', ids: string[]): Promise<void> {
    const tx = this.db.transaction(from, 'readwrite')
    await Promise.all([...ids.map((id) => tx.store.delete(id)), tx.done])
  }

  async keep(key: string, thing: unknown): Promise<void> {
    await this.db.put('things', thing, key)
  }

  async kept(key: string): Promise<unknown> {
    return this.db.get('things', key)
  }
}

/** Where the browser keeps nothing: until the page is closed. */
class InMemory implements Shelf {
  readonly lasts = false
  private rows = { queue: new Map<string, Queued>(), sent: new Map<string, Queued>() }
  private things = new Map<string, unknown>()

  async all(of: 'queue' | 'sent'): Promise<Queued[]> {
    return [...this.rows[of].values()].sort(BY_ID)
  }
  async put(row: Queued): Promise<void> {
    this.rows.queue.set(row.id, row)
  }
  async settle(sent: Queued[], changed: Queued[]): Promise<void> {
    for (const row of sent) {
      this.rows.sent.set(row.id, row)
      this.rows.queue.delete(row.id)
    }
    for (const row of changed) this.rows.queue.set(row.id, row)
  }
  async remove(from: 'queue' | 'sent', ids: string[]): Promise<void> {
    for (const id of ids) this.rows[from].delete(id)
  }
  async keep(key: string, thing: unknown): Promise<void> {
    this.things.set(key, thing)
  }
  async kept(key: string): Promise<unknown> {
    return this.things.get(key)
  }
}

let opened: Promise<Shelf> | null = null

async function open(): Promise<Shelf> {
  try {
    const db = await openDB<Kept>('towscope', 1, {
      upgrade(made) {
        made.createObjectStore('queue', { keyPath: 'id' })
        made.createObjectStore('sent', { keyPath: 'id' })
        made.createObjectStore('things')
      },
      // A newer page wants the next form: let go, and open anew when next asked.
      blocking: (_now, _wanted, event) => {
        ;(event.target as IDBDatabase).close()
        opened = null
      },
      terminated: () => (opened = null),
    })
    return new OnDevice(db)
  } catch {
    return new InMemory()
  }
}

/** The shelf, opened when first asked for. */
export function shelf(): Promise<Shelf> {
  opened ??= open()
  return opened
}
