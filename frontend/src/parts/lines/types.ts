// What the picture of the lines is made of, under short names: the stream sends what /api/run gives.
import type { components } from '../../lib/schema'

type Schemas = components['schemas']

export type Run = Schemas['Run']
export type BoatNow = Schemas['BoatNow']
export type LineNow = Schemas['LineNow']
export type Change = Schemas['Change']
export type Notice = Schemas['Notice']
export type Targets = Schemas['Targets']
