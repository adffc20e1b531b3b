// Asks the app's own sun, moon and winds, by the clock of TZ.
import { answerAll, pages } from '../pages.mjs'

const load = pages('when', 'sky/winds.json', 'sky/crossings', 'sky/sun', 'sky/wind')
const { day } = await load('sky/sun')
const { force } = await load('sky/wind')
answerAll(({ lat, lon, on, wind }) => (wind === undefined ? day(lat, lon, on) : force(wind)))
