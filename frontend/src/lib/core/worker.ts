// The engine's own thread: holds the core and the tackle, and answers one question after another.
import { answer, type Answered } from './answer'
import { Core } from './core'
import { Normals } from './rig'
import { No, type Tackle } from './tackle'
import type { Ask } from '../../parts/rigs/types'

/** What the page says to it: where its files lie, what tackle there is, a question. */
export type Said = { base: string } | { tackle: Tackle } | { id: number; ask: Ask }
/** What it says back: an answer, why there is none, or what went wrong. */
export type Heard = { id: number } & (
  { answered: Answered } | { why: string; figures: Record<string, number | string> } | { broken: string }
)

let ready: Promise<[Core, Normals]> | null = null
let tackle: Tackle | null = null

async function bytes(base: string, name: string): Promise<ArrayBuffer> {
  const response = await fetch(new URL(name, base))
  if (!response.ok) throw new Error(`${name} is not on this phone yet`)
  return response.arrayBuffer()
}

async function start(base: string): Promise<[Core, Normals]> {
  const [core, draws] = await Promise.all([bytes(base, 'core.wasm'), bytes(base, 'draws.bin')])
  return [await Core.start(core), new Normals(draws)]
}

async function heard(id: number, ask: Ask): Promise<Heard> {
  try {
    if (!ready || !tackle) throw new Error('the engine was asked before it had its tackle')
    const [core, normals] = await ready
    return { id, answered: answer(core, tackle, normals, ask) }
  } catch (error) {
    if (error instanceof No) return { id, why: error.why, figures: error.figures }
    return { id, broken: error instanceof Error ? error.message : String(error) }
  }
}

self.onmessage = (event: MessageEvent<Said>): void => {
  const said = event.data
  if ('base' in said) ready = start(said.base)
  else if ('tackle' in said) tackle = said.tackle
  else void heard(said.id, said.ask).then((back) => self.postMessage(back))
}
