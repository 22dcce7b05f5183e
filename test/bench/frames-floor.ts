/**
 * A page of one canvas in which a bar follows the pointer, a frame a move: next to nothing to draw. What the same driving
 * reaches there is what browser, tracing and machine allow at all: without a graphics card the browser's own clock is not
 * even to a millisecond.
 */
export function floorPage(): string {
  return `<!doctype html><title>floor</title><body style="margin:0">
<canvas data-testid="pane" width="700" height="480" style="display:block"></canvas>
<script>
  const context = document.querySelector('canvas').getContext('2d', { alpha: false, willReadFrequently: true })
  let frame = 0
  let at = 0
  addEventListener('mousemove', (event) => {
    at = event.clientX
    frame ||= requestAnimationFrame(() => {
      frame = 0
      context.fillStyle = '#ffffff'
      context.fillRect(0, 0, 700, 480)
      context.fillStyle = '#000000'
      context.fillRect(at, 0, 2, 480)
    })
  })
</script>`
}
