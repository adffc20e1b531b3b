// Whether these pages are files on a static host: there is no computer to ask, ever.
const SAID = 'meta[name="towscope-alone"]'

// asked where there is no page, too: in a worker, and in unit tests
export const alone: boolean =
  typeof document !== 'undefined' && 'querySelector' in document && document.querySelector(SAID) !== null
