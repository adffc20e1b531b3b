// Entries made on this device that the boat's computer has not acknowledged yet.

class Queue {
  /** How many wait to be sent. */
  waiting = $state(0)
}

export const queue = new Queue()
