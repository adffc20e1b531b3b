// A wind's force on Beaufort's scale; winds.json is made from the Python package (towscope.sky.beaufort).
import scale from './winds.json'

export type Force = (typeof scale)[number]

/** The force of a wind [m/s], the waves it makes, and what that means for a small boat. */
export function force(wind: number): Force {
  const rounded = Math.round(wind * 10) / 10
  return scale.findLast((one) => rounded >= one.from_m_s) ?? scale[0]!
}
