// Whether these pages are files on a static host: there is no computer to ask, ever.
const SAID = 'meta[name="towscope-alone"]'

export const alone: boolean = typeof document !== 'undefined' && document.querySelector(SAID) !== null
