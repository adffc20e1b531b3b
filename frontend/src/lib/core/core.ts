// The engine itself, in this page or its worker: loads the module and calls its ways in by name.
import { Arena } from './arena'
import { ORDER, type Ways } from './entries'

type Way = (...given: number[]) => number | undefined

export class Core {
  /** Room for arrays. */
  readonly arena: Arena
  private readonly ways: Record<string, Way>

  private constructor(ways: Record<string, Way>, arena: Arena) {
    this.ways = ways
    this.arena = arena
  }

  /** Start the core from the bytes of its module. */
  static async start(bytes: BufferSource): Promise<Core> {
    const { instance } = await WebAssembly.instantiate(bytes, {})
    const out = instance.exports
    ;(out._initialize as (() => void) | undefined)?.()
    const base = (out.__heap_base as WebAssembly.Global).value as number
    return new Core(
      out as unknown as Record<string, Way>,
      new Arena(out.memory as WebAssembly.Memory, Math.ceil(base / 8) * 8),
    )
  }

  /** Ask one question; arrays given are filled as the kernel of that name says. */
  ask<W extends keyof Ways>(way: W, given: Ways[W]['given']): Ways[W]['result'] {
    const { given: paths, several, yes } = ORDER[way]
    const words: number[] = []
    for (const path of paths) {
      const value = at(given, path)
      if (typeof value === 'number') words.push(value)
      else if (typeof value === 'boolean') words.push(Number(value))
      else if (isLaid(value)) words.push(value.at, ...value.sizes)
      else throw new TypeError(`${way}: ${path} is missing`)
    }
    const call = this.ways[`core_${way}`]
    if (call === undefined) throw new TypeError(`the core has no ${way}`)
    if (several === 0) {
      const answer = call(...words)
      return yes ? answer !== 0 : answer
    }
    const mark = this.arena.mark()
    const room = this.arena.doubles([several])
    call(...words, room.at)
    const answer = Array.from(room.values)
    this.arena.freeTo(mark)
    return answer as unknown as Ways[W]['result']
  }
}

function at(given: object, path: string): unknown {
  return path.split('.').reduce<unknown>((value, name) => (value as Record<string, unknown>)[name], given)
}

function isLaid(value: unknown): value is { at: number; sizes: readonly number[] } {
  return typeof value === 'object' && value !== null && 'at' in value && 'sizes' in value
}
