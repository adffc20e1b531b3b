// Room for the arrays that the core works on: they lie in its own memory, one after the other.

/** An array of so many indices, the last the fastest: where it lies, how long, and what is in it. */
interface Laid<T, Rank extends number> {
  readonly at: number
  readonly sizes: readonly number[] & { length: Rank }
  /** What is in it now; the view is good until more room is asked for. */
  readonly values: T
}

export type Doubles<Rank extends number> = Laid<Float64Array, Rank>
export type Singles<Rank extends number> = Laid<Float32Array, Rank>
export type Integers<Rank extends number> = Laid<Int32Array, Rank>

type Sizes<Rank extends number> = readonly number[] & { length: Rank }
type Kind<T> = { new (buffer: ArrayBufferLike, at: number, length: number): T; BYTES_PER_ELEMENT: number }

const PAGE = 65_536
const EVEN = 8 // bytes that every array begins on a multiple of

export class Arena {
  private readonly memory: WebAssembly.Memory
  private readonly base: number
  private next: number

  constructor(memory: WebAssembly.Memory, base: number) {
    this.memory = memory
    this.base = base
    this.next = base
  }

  /** Room for fractions, filled with what is given, else with noughts. */
  doubles<const S extends readonly number[]>(sizes: S, values?: ArrayLike<number>): Doubles<S['length']> {
    return this.lay(Float64Array, sizes, values)
  }

  /** Room for fractions in half the space. */
  singles<const S extends readonly number[]>(sizes: S, values?: ArrayLike<number>): Singles<S['length']> {
    return this.lay(Float32Array, sizes, values)
  }

  /** Room for whole numbers. */
  integers<const S extends readonly number[]>(sizes: S, values?: ArrayLike<number>): Integers<S['length']> {
    return this.lay(Int32Array, sizes, values)
  }

  /** Where the room in use ends: to give back all that is taken after it, hand it to `freeTo`. */
  mark(): number {
    return this.next
  }

  /** Give back what was taken since a mark; arrays laid since must not be used any more. */
  freeTo(mark: number): void {
    if (mark < this.base || mark > this.next) throw new RangeError(`mark ${mark}; expected one given before`)
    this.next = mark
  }

  private lay<T extends Float64Array | Float32Array | Int32Array, S extends readonly number[]>(
    kind: Kind<T>,
    sizes: S,
    values?: ArrayLike<number>,
  ): Laid<T, S['length']> {
    const length = sizes.reduce((product, size) => product * size, 1)
    if (values !== undefined && values.length !== length)
      throw new RangeError(`${values.length} values for ${sizes.join(' by ')}; expected ${length}`)
    const at = this.next
    this.next = Math.ceil((at + length * kind.BYTES_PER_ELEMENT) / EVEN) * EVEN
    const short = this.next - this.memory.buffer.byteLength
    if (short > 0) this.memory.grow(Math.ceil(short / PAGE))
    const memory = this.memory
    const laid = {
      at,
      sizes: sizes as Sizes<S['length']>,
      get values(): T {
        return new kind(memory.buffer, at, length)
      },
    }
    if (values === undefined) laid.values.fill(0)
    else laid.values.set(values)
    return laid
  }
}
