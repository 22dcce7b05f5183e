/**
 * Gathers events until the browser draws its next picture: `act` gets the newest argument, once a frame. Pointers send
 * up to a thousand events a second, and drawing more often than is shown is time thrown away.
 */
export function perFrame<Argument>(act: (argument: Argument) => void): {
  (argument: Argument): void
  /** Acts at once on what waits. */
  flush(): void
  /** Forgets what waits. */
  drop(): void
} {
  let waiting: { argument: Argument } | null = null
  let frame = 0
  const run = () => {
    frame = 0
    const due = waiting
    waiting = null
    if (due) act(due.argument)
  }
  const ask = (argument: Argument) => {
    waiting = { argument }
    frame ||= requestAnimationFrame(run)
  }
  const stop = () => {
    cancelAnimationFrame(frame)
    frame = 0
  }
  return Object.assign(ask, {
    flush: () => {
      stop()
      run()
    },
    drop: () => {
      stop()
      waiting = null
    },
  })
}
