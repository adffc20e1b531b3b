// A fish's length as people say it: "15 in", "21.5 in", to the hundredth where it was entered so.
import { exactly, figure, label } from '../units'

/** A length [m] in the unit shown, without needless decimals. */
export function size(metres: number): string {
  const text = figure(metres, 'size', exactly(metres, 'size'))
  return `${Number(text)}\u00a0${label('size')}`
}
