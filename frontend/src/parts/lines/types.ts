// What the picture of the lines is made of: the shapes that the stream sends, under short names.
export type Band = [number, number]

export interface BoatNow {
  at: string
  lat?: number | null
  lon?: number | null
  course_deg?: number | null
  speed_m_s?: number | null
  speed_is?: string
  ground_speed_m_s?: number | null
  depth_m?: number | null
  depth_from?: 'sounder' | 'lake' | ''
  source?: string
  age_s?: number | null
}

export interface Bottom {
  along_m: number[]
  depth_m: (number | null)[]
  sd_m: (number | null)[]
}

export interface Ahead {
  time_s: number[]
  along_m: number[]
  depth_m: number[]
  low_m: number[]
  high_m: number[]
  bottom_m: (number | null)[]
}

export interface Change {
  kind: 'reel' | 'let out' | 'speed' | 'turn' | 'none'
  let_out_m?: number | null
  by_m?: number | null
  colors_out?: number | null
  speed_m_s?: number | null
  turn_deg?: number | null
  latest_s?: number | null
  rods?: string[]
  lifts?: boolean
  why?: string
}

export interface LineNow {
  rod: string
  rig?: string
  lure?: string
  colour?: string
  size_m?: number | null
  let_out_m: number
  colors_out?: number | null
  side_m?: number
  along_m: number
  depth_m: number
  depth_90_m: Band
  settled_depth_m: number
  bottom_m?: number | null
  off_bottom_m?: number | null
  off_bottom_low_m?: number | null
  tension_n: number
  shape?: Band[]
  target_m?: number | null
  change?: Change | null
  ahead?: Ahead
  calibrated?: boolean
}

export interface Notice {
  rod: string
  sure: 'will hit bottom' | 'may hit bottom'
  seconds: number
  off_bottom_m: number
}

export interface Run {
  count: number
  state: 'running' | 'no fix' | 'stale' | 'not towing' | 'no lines'
  boat: BoatNow
  bottom?: Bottom
  lines?: LineNow[]
  unfollowed?: { rod: string; why: string }[]
  notices?: Notice[]
  do?: Change[]
  keep_off_bottom_m?: number
  as_of?: string | null
}

export interface Targets {
  depth_m: Record<string, number>
  keep_off_bottom_m: number
  current_m_s: number
  current_to_deg: number
  lake: string
}
