// A rig and its equally likely versions laid into the core's memory, as its questions take them.
import type { Core } from './core'
import type { Desk, Rig, Room, Towed, Versions } from './entries'
import { No, type Tow } from './tackle'

export const DRAWS = 512
const PATH = [2000, 33] as const // the steps of a line's path, as towscope.towing.steady has them

/** The draws' normal figures: each column holds the same figures, in another order. */
export class Normals {
  private readonly figures: Float64Array
  private readonly places: Uint16Array

  constructor(bytes: ArrayBuffer) {
    this.figures = new Float64Array(bytes, 0, DRAWS)
    this.places = new Uint16Array(bytes, 8 * DRAWS)
  }

  /** So many columns, a row for each draw. */
  rows(columns: number): Float64Array {
    if (columns * DRAWS > this.places.length) throw new No('unknown', { part: 'so many kinds of line' })
    const rows = new Float64Array(DRAWS * columns)
    for (let c = 0; c < columns; c++)
      for (let j = 0; j < DRAWS; j++) rows[j * columns + c] = this.figures[this.places[c * DRAWS + j]!]!
    return rows
  }
}

/** Current by depth: depth [m], with the boat and to starboard [m/s]. */
export type Layers = readonly (readonly [number, number, number])[]

export interface Laid {
  rig: Rig
  desk: Desk
  room: Room
}

export class Bench {
  readonly pieces: Rig['towed']['pieces']
  private readonly lure: Rig['towed']['lure']
  private readonly medium: Rig['towed']['medium']
  readonly versions: Versions
  private readonly strength: Rig['strength']
  readonly desk: Desk
  readonly length: number

  constructor(
    readonly core: Core,
    readonly tow: Tow,
    normals: Normals,
    readonly layers: Layers,
  ) {
    const { arena } = core
    const n = tow.pieces.length
    this.length = tow.pieces.reduce((sum, piece) => sum + piece[0]!, 0)
    this.pieces = arena.doubles([n, 8], tow.pieces.flat())
    this.lure = arena.doubles([3], tow.lure)
    this.medium = arena.doubles([4], tow.medium)
    this.strength = arena.doubles(
      [n],
      tow.strength.map((each) => each ?? NaN),
    )
    this.versions = tow.learnt ? this.taught(n) : this.drawn(n, normals)
    const k = Math.max(1, layers.length)
    this.desk = {
      room: { path: arena.doubles(PATH), ends: arena.doubles([n]) },
      flow: arena.doubles([k, 3]),
      drawn: arena.doubles([k, 3]),
      values: arena.doubles([DRAWS]),
      ordered: arena.doubles([DRAWS]),
    }
  }

  private drawn(n: number, normals: Normals): Versions {
    const { arena } = this.core
    const { tow } = this
    const columns = 3 * (Math.max(...tow.group) + 1) + 4
    const pieces = arena.doubles([DRAWS, n, 8])
    const lures = arena.doubles([DRAWS, 3])
    this.core.ask('shifted', {
      pieces: this.pieces,
      lure: this.lure,
      group: arena.integers([n], tow.group),
      line_sd: arena.doubles([n, 3], tow.line_sd.flat()),
      lure_sd: arena.doubles([4], tow.lure_sd),
      normal: arena.doubles([DRAWS, columns], normals.rows(columns)),
      drawn: pieces,
      lures,
    })
    const none = arena.doubles([0])
    return { pieces, lures, speed_scale: none, let_out_scale: none, along: none }
  }

  /** Versions that readings have left of it. */
  private taught(n: number): Versions {
    const { arena } = this.core
    const { tow } = this
    const learnt = tow.learnt!
    const rows = Array.from({ length: DRAWS }, (_, j) => j % learnt.lures.length)
    const pieces = rows.flatMap((row) =>
      tow.pieces.flatMap((piece, i) => {
        const g = tow.group[i]!
        const own = [...piece]
        own[6]! *= learnt.drag[row]![g]!
        own[7]! *= learnt.friction[row]![g]!
        own[2]! *= learnt.weight[row]![g]!
        return own
      }),
    )
    const along = learnt.along.length ? rows.map((row) => learnt.along[row]!) : []
    return {
      pieces: arena.doubles([DRAWS, n, 8], pieces),
      lures: arena.doubles(
        [DRAWS, 3],
        rows.flatMap((row) => learnt.lures[row]!),
      ),
      speed_scale: arena.doubles([0]),
      let_out_scale: arena.doubles(
        [DRAWS],
        rows.map((row) => learnt.let_out_scale[row]!),
      ),
      along: arena.doubles([along.length], along),
    }
  }

  /** The rig as stated, towed at a speed [m/s]. */
  at(speed: number): Towed {
    const layers = this.layers.length ? this.layers : ([[0, 0, 0]] as const)
    const flow = layers.flatMap(([depth, along, across]) => [depth, speed - along, across])
    return {
      pieces: this.pieces,
      lure: this.lure,
      medium: this.medium,
      flow: this.core.arena.doubles([layers.length, 3], flow),
      air_speed: speed,
      tip: this.tow.tip,
    }
  }

  rig(speed: number): Rig {
    return { towed: this.at(speed), versions: this.versions, strength: this.strength }
  }
}
