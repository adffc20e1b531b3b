// Written by tools/core from the kernels of towscope; not to be edited.
import type { Doubles, Integers, Singles } from './arena'

export interface Towed {
  pieces: Doubles<2>
  lure: Doubles<1>
  medium: Doubles<1>
  flow: Doubles<2>
  air_speed: number
  tip: number
}

export interface Room {
  path: Doubles<2>
  ends: Doubles<1>
}

export interface Versions {
  pieces: Doubles<3>
  lures: Doubles<2>
  speed_scale: Doubles<1>
  let_out_scale: Doubles<1>
  along: Doubles<1>
}

export interface Rig {
  towed: Towed
  versions: Versions
  strength: Doubles<1>
}

export interface Desk {
  room: Room
  flow: Doubles<2>
  drawn: Doubles<2>
  values: Doubles<1>
  ordered: Doubles<1>
}

export interface Gear {
  knots: Doubles<2>
  part: Integers<2>
  line_of: Integers<1>
  pieces: Doubles<3>
  stiffness: Doubles<2>
  lures: Doubles<2>
  drift: Doubles<2>
}

export interface Water {
  medium: Doubles<1>
  current: Doubles<2>
  air: Doubles<1>
}

export interface Chains {
  place: Doubles<3>
  rate: Doubles<3>
  pull: Doubles<2>
  used: Integers<1>
  rods: Doubles<1>
}

export interface Course {
  times: Doubles<1>
  tips: Doubles<3>
  let_outs: Doubles<2>
  longest: number
  last: number
  fresh: boolean
}

export interface Ground {
  bed: Doubles<2>
  x0: number
  y0: number
  cell: number
}

export interface Shown {
  every: number
  figures: Doubles<3>
  shapes: Doubles<4>
  effort: Integers<2>
}

export interface Space {
  before: Doubles<2>
  work: Doubles<2>
}

/** What each way into the core takes and gives. */
export interface Ways {
  sweep: { given: { towed: Towed; let_outs: Doubles<1>; relative: number; room: Room; answers: Doubles<2> }; result: boolean }
  let_out_for: { given: { rig: Rig; depth: number; desk: Desk; found: Doubles<1> }; result: boolean }
  depth_of: { given: { rig: Rig; let_out: number; desk: Desk; found: Doubles<1> }; result: boolean }
  where_at: { given: { rig: Rig; let_out: number; room: Room; found: Doubles<1> }; result: boolean }
  table: { given: { rig: Rig; depths: Doubles<1>; speeds: Doubles<1>; desk: Desk; let_out: Doubles<2>; low: Doubles<2>; high: Doubles<2> }; result: void }
  travel: { given: { first: number; beyond: number; gear: Gear; water: Water; chains: Chains; course: Course; ground: Ground; shown: Shown; space: Space }; result: void }
  bottom: { given: { ground: Ground; x: number; y: number }; result: number }
}

/** The same, in the order in which the module takes it. */
export const ORDER: {
  [W in keyof Ways]: { given: string[]; several: number; yes: boolean }
} = {
  sweep: { given: ['towed.pieces', 'towed.lure', 'towed.medium', 'towed.flow', 'towed.air_speed', 'towed.tip', 'let_outs', 'relative', 'room.path', 'room.ends', 'answers'], several: 0, yes: true },
  let_out_for: { given: ['rig.towed.pieces', 'rig.towed.lure', 'rig.towed.medium', 'rig.towed.flow', 'rig.towed.air_speed', 'rig.towed.tip', 'rig.versions.pieces', 'rig.versions.lures', 'rig.versions.speed_scale', 'rig.versions.let_out_scale', 'rig.versions.along', 'rig.strength', 'depth', 'desk.room.path', 'desk.room.ends', 'desk.flow', 'desk.drawn', 'desk.values', 'desk.ordered', 'found'], several: 0, yes: true },
  depth_of: { given: ['rig.towed.pieces', 'rig.towed.lure', 'rig.towed.medium', 'rig.towed.flow', 'rig.towed.air_speed', 'rig.towed.tip', 'rig.versions.pieces', 'rig.versions.lures', 'rig.versions.speed_scale', 'rig.versions.let_out_scale', 'rig.versions.along', 'rig.strength', 'let_out', 'desk.room.path', 'desk.room.ends', 'desk.flow', 'desk.drawn', 'desk.values', 'desk.ordered', 'found'], several: 0, yes: true },
  where_at: { given: ['rig.towed.pieces', 'rig.towed.lure', 'rig.towed.medium', 'rig.towed.flow', 'rig.towed.air_speed', 'rig.towed.tip', 'rig.versions.pieces', 'rig.versions.lures', 'rig.versions.speed_scale', 'rig.versions.let_out_scale', 'rig.versions.along', 'rig.strength', 'let_out', 'room.path', 'room.ends', 'found'], several: 0, yes: true },
  table: { given: ['rig.towed.pieces', 'rig.towed.lure', 'rig.towed.medium', 'rig.towed.flow', 'rig.towed.air_speed', 'rig.towed.tip', 'rig.versions.pieces', 'rig.versions.lures', 'rig.versions.speed_scale', 'rig.versions.let_out_scale', 'rig.versions.along', 'rig.strength', 'depths', 'speeds', 'desk.room.path', 'desk.room.ends', 'desk.flow', 'desk.drawn', 'desk.values', 'desk.ordered', 'let_out', 'low', 'high'], several: 0, yes: false },
  travel: { given: ['first', 'beyond', 'gear.knots', 'gear.part', 'gear.line_of', 'gear.pieces', 'gear.stiffness', 'gear.lures', 'gear.drift', 'water.medium', 'water.current', 'water.air', 'chains.place', 'chains.rate', 'chains.pull', 'chains.used', 'chains.rods', 'course.times', 'course.tips', 'course.let_outs', 'course.longest', 'course.last', 'course.fresh', 'ground.bed', 'ground.x0', 'ground.y0', 'ground.cell', 'shown.every', 'shown.figures', 'shown.shapes', 'shown.effort', 'space.before', 'space.work'], several: 0, yes: false },
  bottom: { given: ['ground.bed', 'ground.x0', 'ground.y0', 'ground.cell', 'x', 'y'], several: 0, yes: false },
}
