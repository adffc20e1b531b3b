// What the back end says and is told of rigs, by its own document.
import type { components } from '../../lib/schema'

type Schemas = components['schemas']
export type Ask = Schemas['Ask']
export type Told = Schemas['Told']
export type RigIn = Schemas['RigIn']
export type RigShown = Schemas['RigShown']
export type Rigs = Schemas['Rigs']
export type Stock = Schemas['Stock']
export type PieceShown = Schemas['PieceShown']
export type LineShown = Schemas['LineShown']
export type LureShown = Schemas['LureShown']
export type Readings = Schemas['RigReadings']
export type ReadingIn = Schemas['ReadingIn']
export type Around = Schemas['DepthsAround']

/** What a weighing of readings comes to; `towscope calibrate --json` says the same. */
export interface Taught {
  readings_new: number
  readings_of_rig: number
  readings_of_others: number
  color_length_m: number
  depth_per_color_at_2_mph_before_m: number
  depth_per_color_at_2_mph_before_90_m: [number, number]
  depth_per_color_at_2_mph_m: number
  depth_per_color_at_2_mph_90_m: [number, number]
  usual: {
    let_out_m: number
    speed_m_s: number
    before_depth_m: number
    before_depth_90_m: [number, number]
    depth_m: number
    depth_90_m: [number, number]
  }[]
  readings: {
    id: string
    kind: string
    let_out_m: number
    speed_m_s: number
    reading_depth_m: number
    depth_m: number
    depth_90_m: [number, number]
    looks_wrong: boolean
    words: string
  }[]
  open: string[]
  next_reading: {
    let_out_m: number
    speed_m_s: number
    depth_m: number
    half_width_m: number
    half_width_after_m: number
  } | null
  misfit: boolean
  notes: string[]
  words: { how_much: string; next: string; change: string }
}
