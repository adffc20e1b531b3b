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

export interface Search {
  given: Doubles<1>
  others: Doubles<1>
  flow: Doubles<2>
  grid: Doubles<2>
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

export interface Straight {
  mounts: Doubles<2>
  let_outs: Doubles<1>
  x: number
  y: number
  course: number
}

export interface Chains {
  place: Doubles<3>
  rate: Doubles<3>
  pull: Doubles<2>
  used: Integers<1>
  rods: Doubles<1>
}

export interface Departure {
  x: number
  y: number
  course: number
  speed: number
}

export interface Water {
  medium: Doubles<1>
  current: Doubles<2>
  air: Doubles<1>
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
  water_density: { given: { t: number }; result: number }
  water_viscosity: { given: { t: number }; result: number }
  weight_of_soaked: { given: { mass: number; diameter: number; solid: number; density: number }; result: number }
  shifted: { given: { pieces: Doubles<2>; lure: Doubles<1>; group: Integers<1>; line_sd: Doubles<2>; lure_sd: Doubles<1>; normal: Doubles<2>; drawn: Doubles<3>; lures: Doubles<2> }; result: void }
  dive_area: { given: { towed: Towed; depth: number; let_out: number; lure: Doubles<1>; room: Room; out: Doubles<1> }; result: [number, number, number] }
  sweep: { given: { towed: Towed; let_outs: Doubles<1>; relative: number; room: Room; answers: Doubles<2> }; result: boolean }
  settle: { given: { towed: Towed; let_out: number; relative: number; room: Room; out: Doubles<1> }; result: void }
  reach: { given: { towed: Towed; depth: number; relative: number; room: Room; out: Doubles<1> }; result: number }
  shape: { given: { path: Doubles<2>; n: number; wet: number; points: Doubles<2> }; result: void }
  let_out_for: { given: { rig: Rig; depth: number; desk: Desk; found: Doubles<1> }; result: boolean }
  depth_of: { given: { rig: Rig; let_out: number; desk: Desk; found: Doubles<1> }; result: boolean }
  where_at: { given: { rig: Rig; let_out: number; room: Room; found: Doubles<1> }; result: boolean }
  table: { given: { rig: Rig; depths: Doubles<1>; speeds: Doubles<1>; desk: Desk; let_out: Doubles<2>; low: Doubles<2>; high: Doubles<2> }; result: void }
  line: { given: { towed: Towed; depth: number; wet: number; room: Room; points: Doubles<2> }; result: void }
  speed_for: { given: { still: Rig; let_out: number; depth: number; near: number; desk: Desk; search: Search; found: Doubles<1> }; result: number }
  deepest: { given: { towed: Towed; goals: Doubles<1>; answers: Doubles<2>; room: Room }; result: [number, number] }
  speed_that_reaches: { given: { still: Towed; depth: number; near: number; goals: Doubles<1>; answers: Doubles<2>; flow: Doubles<2>; room: Room }; result: number }
  knots_of: { given: { pieces: Doubles<2>; lure: Doubles<1>; segment: number; knots: Doubles<1>; part: Integers<1> }; result: number }
  lay_out: { given: { gear: Gear; medium: Doubles<1>; seen: Doubles<1>; going: Straight; chains: Chains }; result: void }
  set_going: { given: { chains: Chains; x: number; y: number; rate_x: number; rate_y: number }; result: void }
  boat_path: { given: { start: Departure; plan: Doubles<2>; times: Doubles<1>; path: Doubles<2> }; result: void }
  tip_paths: { given: { mounts: Doubles<2>; path: Doubles<2>; tips: Doubles<3> }; result: void }
  lead_tips: { given: { now: Doubles<2>; times: Doubles<1>; tips: Doubles<3> }; result: void }
  line_out: { given: { start: Doubles<1>; plan: Doubles<2>; goals: Doubles<2>; times: Doubles<1>; let_outs: Doubles<2> }; result: void }
  nearest_bottom: { given: { figures: Doubles<3>; column: number; first: number; draws: number; rank: number; least: Doubles<1> }; result: [number, number, number] }
  travel: { given: { first: number; beyond: number; gear: Gear; water: Water; chains: Chains; course: Course; ground: Ground; shown: Shown; space: Space }; result: void }
  expected_after: { given: { h: number; agility: number; x: number; vx: number; y: number; vy: number; a: number; b: number; c: number }; result: [number, number, number, number, number, number, number] }
  with_place: { given: { place_x: number; place_y: number; variance: number; x: number; vx: number; y: number; vy: number; a: number; b: number; c: number }; result: [number, number, number, number, number, number, number] }
  with_velocity: { given: { east: number; north: number; variance: number; x: number; vx: number; y: number; vy: number; a: number; b: number; c: number }; result: [number, number, number, number, number, number, number] }
  smooth_back: { given: { time: Doubles<1>; state: Doubles<2>; cover: Doubles<2>; expected: Doubles<2>; expected_cover: Doubles<2> }; result: void }
  bottom: { given: { ground: Ground; x: number; y: number }; result: number }
}

/** The same, in the order in which the module takes it. */
export const ORDER: {
  [W in keyof Ways]: { given: string[]; several: number; yes: boolean }
} = {
  water_density: { given: ['t'], several: 0, yes: false },
  water_viscosity: { given: ['t'], several: 0, yes: false },
  weight_of_soaked: { given: ['mass', 'diameter', 'solid', 'density'], several: 0, yes: false },
  shifted: { given: ['pieces', 'lure', 'group', 'line_sd', 'lure_sd', 'normal', 'drawn', 'lures'], several: 0, yes: false },
  dive_area: { given: ['towed.pieces', 'towed.lure', 'towed.medium', 'towed.flow', 'towed.air_speed', 'towed.tip', 'depth', 'let_out', 'lure', 'room.path', 'room.ends', 'out'], several: 3, yes: false },
  sweep: { given: ['towed.pieces', 'towed.lure', 'towed.medium', 'towed.flow', 'towed.air_speed', 'towed.tip', 'let_outs', 'relative', 'room.path', 'room.ends', 'answers'], several: 0, yes: true },
  settle: { given: ['towed.pieces', 'towed.lure', 'towed.medium', 'towed.flow', 'towed.air_speed', 'towed.tip', 'let_out', 'relative', 'room.path', 'room.ends', 'out'], several: 0, yes: false },
  reach: { given: ['towed.pieces', 'towed.lure', 'towed.medium', 'towed.flow', 'towed.air_speed', 'towed.tip', 'depth', 'relative', 'room.path', 'room.ends', 'out'], several: 0, yes: false },
  shape: { given: ['path', 'n', 'wet', 'points'], several: 0, yes: false },
  let_out_for: { given: ['rig.towed.pieces', 'rig.towed.lure', 'rig.towed.medium', 'rig.towed.flow', 'rig.towed.air_speed', 'rig.towed.tip', 'rig.versions.pieces', 'rig.versions.lures', 'rig.versions.speed_scale', 'rig.versions.let_out_scale', 'rig.versions.along', 'rig.strength', 'depth', 'desk.room.path', 'desk.room.ends', 'desk.flow', 'desk.drawn', 'desk.values', 'desk.ordered', 'found'], several: 0, yes: true },
  depth_of: { given: ['rig.towed.pieces', 'rig.towed.lure', 'rig.towed.medium', 'rig.towed.flow', 'rig.towed.air_speed', 'rig.towed.tip', 'rig.versions.pieces', 'rig.versions.lures', 'rig.versions.speed_scale', 'rig.versions.let_out_scale', 'rig.versions.along', 'rig.strength', 'let_out', 'desk.room.path', 'desk.room.ends', 'desk.flow', 'desk.drawn', 'desk.values', 'desk.ordered', 'found'], several: 0, yes: true },
  where_at: { given: ['rig.towed.pieces', 'rig.towed.lure', 'rig.towed.medium', 'rig.towed.flow', 'rig.towed.air_speed', 'rig.towed.tip', 'rig.versions.pieces', 'rig.versions.lures', 'rig.versions.speed_scale', 'rig.versions.let_out_scale', 'rig.versions.along', 'rig.strength', 'let_out', 'room.path', 'room.ends', 'found'], several: 0, yes: true },
  table: { given: ['rig.towed.pieces', 'rig.towed.lure', 'rig.towed.medium', 'rig.towed.flow', 'rig.towed.air_speed', 'rig.towed.tip', 'rig.versions.pieces', 'rig.versions.lures', 'rig.versions.speed_scale', 'rig.versions.let_out_scale', 'rig.versions.along', 'rig.strength', 'depths', 'speeds', 'desk.room.path', 'desk.room.ends', 'desk.flow', 'desk.drawn', 'desk.values', 'desk.ordered', 'let_out', 'low', 'high'], several: 0, yes: false },
  line: { given: ['towed.pieces', 'towed.lure', 'towed.medium', 'towed.flow', 'towed.air_speed', 'towed.tip', 'depth', 'wet', 'room.path', 'room.ends', 'points'], several: 0, yes: false },
  speed_for: { given: ['still.towed.pieces', 'still.towed.lure', 'still.towed.medium', 'still.towed.flow', 'still.towed.air_speed', 'still.towed.tip', 'still.versions.pieces', 'still.versions.lures', 'still.versions.speed_scale', 'still.versions.let_out_scale', 'still.versions.along', 'still.strength', 'let_out', 'depth', 'near', 'desk.room.path', 'desk.room.ends', 'desk.flow', 'desk.drawn', 'desk.values', 'desk.ordered', 'search.given', 'search.others', 'search.flow', 'search.grid', 'found'], several: 0, yes: false },
  deepest: { given: ['towed.pieces', 'towed.lure', 'towed.medium', 'towed.flow', 'towed.air_speed', 'towed.tip', 'goals', 'answers', 'room.path', 'room.ends'], several: 2, yes: false },
  speed_that_reaches: { given: ['still.pieces', 'still.lure', 'still.medium', 'still.flow', 'still.air_speed', 'still.tip', 'depth', 'near', 'goals', 'answers', 'flow', 'room.path', 'room.ends'], several: 0, yes: false },
  knots_of: { given: ['pieces', 'lure', 'segment', 'knots', 'part'], several: 0, yes: false },
  lay_out: { given: ['gear.knots', 'gear.part', 'gear.line_of', 'gear.pieces', 'gear.stiffness', 'gear.lures', 'gear.drift', 'medium', 'seen', 'going.mounts', 'going.let_outs', 'going.x', 'going.y', 'going.course', 'chains.place', 'chains.rate', 'chains.pull', 'chains.used', 'chains.rods'], several: 0, yes: false },
  set_going: { given: ['chains.place', 'chains.rate', 'chains.pull', 'chains.used', 'chains.rods', 'x', 'y', 'rate_x', 'rate_y'], several: 0, yes: false },
  boat_path: { given: ['start.x', 'start.y', 'start.course', 'start.speed', 'plan', 'times', 'path'], several: 0, yes: false },
  tip_paths: { given: ['mounts', 'path', 'tips'], several: 0, yes: false },
  lead_tips: { given: ['now', 'times', 'tips'], several: 0, yes: false },
  line_out: { given: ['start', 'plan', 'goals', 'times', 'let_outs'], several: 0, yes: false },
  nearest_bottom: { given: ['figures', 'column', 'first', 'draws', 'rank', 'least'], several: 3, yes: false },
  travel: { given: ['first', 'beyond', 'gear.knots', 'gear.part', 'gear.line_of', 'gear.pieces', 'gear.stiffness', 'gear.lures', 'gear.drift', 'water.medium', 'water.current', 'water.air', 'chains.place', 'chains.rate', 'chains.pull', 'chains.used', 'chains.rods', 'course.times', 'course.tips', 'course.let_outs', 'course.longest', 'course.last', 'course.fresh', 'ground.bed', 'ground.x0', 'ground.y0', 'ground.cell', 'shown.every', 'shown.figures', 'shown.shapes', 'shown.effort', 'space.before', 'space.work'], several: 0, yes: false },
  expected_after: { given: ['h', 'agility', 'x', 'vx', 'y', 'vy', 'a', 'b', 'c'], several: 7, yes: false },
  with_place: { given: ['place_x', 'place_y', 'variance', 'x', 'vx', 'y', 'vy', 'a', 'b', 'c'], several: 7, yes: false },
  with_velocity: { given: ['east', 'north', 'variance', 'x', 'vx', 'y', 'vy', 'a', 'b', 'c'], several: 7, yes: false },
  smooth_back: { given: ['time', 'state', 'cover', 'expected', 'expected_cover'], several: 0, yes: false },
  bottom: { given: ['ground.bed', 'ground.x0', 'ground.y0', 'ground.cell', 'x', 'y'], several: 0, yes: false },
}
