import fc from 'fast-check'
import { beforeEach, describe, expect, test } from 'vitest'
import { View } from '../../../renderer/compare/view.svelte.ts'

let view: View
beforeEach(() => {
  view = new View()
  view.reset({ t0_s: -2, t1_s: 98 }, { t0_s: 0, t1_s: 60 })
})

describe('the visible span', () => {
  test('zooming keeps the time under the pointer where it is', () => {
    view.zoom(0.5, 15)
    expect(view.span).toEqual({ t0_s: 7.5, t1_s: 37.5 })
  })

  test('never leaves the whole, never turns round, never shrinks to nothing', () => {
    fc.assert(
      fc.property(
        fc.array(
          fc.tuple(
            fc.double({ min: 0.01, max: 20, noNaN: true }),
            fc.double({ min: -50, max: 150, noNaN: true }),
          ),
        ),
        (steps) => {
          for (const [factor, about_s] of steps) {
            view.zoom(factor, about_s)
            view.pan(factor - 5)
            const { t0_s, t1_s } = view.span
            expect(t0_s).toBeGreaterThanOrEqual(-2)
            expect(t1_s).toBeLessThanOrEqual(98 + 1e-9)
            expect(t1_s - t0_s).toBeGreaterThanOrEqual(0.004 - 1e-9)
          }
        },
      ),
    )
  })

  test('panning keeps the length', () => {
    view.pan(-10)
    expect(view.span).toEqual({ t0_s: -2, t1_s: 58 })
    view.pan(0.5)
    expect(view.span).toEqual({ t0_s: 28, t1_s: 88 })
  })
})

describe('back and forward', () => {
  test('a drag that rests on its way is one step, in time and value; a wheel right after it is another', () => {
    const drag = {}
    view.show({ t0_s: 5, t1_s: 35 }, 1000, drag)
    view.showValues('roll', { from: 0.2, to: 0.6 }, 1001, drag)
    view.show({ t0_s: 8, t1_s: 38 }, 9000, drag)
    view.showValues('roll', { from: 0.3, to: 0.7 }, 20_000, drag)
    view.show({ t0_s: 10, t1_s: 20 }, 25_000)
    view.back()
    expect(view.span).toEqual({ t0_s: 8, t1_s: 38 })
    view.back()
    expect(view.span).toEqual({ t0_s: 0, t1_s: 60 })
    expect(view.canGoBack).toBe(false)
  })

  test('a burst of changes is one step', () => {
    for (let notch = 0; notch < 10; notch++) view.show({ t0_s: notch, t1_s: 50 }, 1000 + notch * 50)
    view.show({ t0_s: 20, t1_s: 30 }, 5000)
    view.back()
    expect(view.span).toEqual({ t0_s: 9, t1_s: 50 })
    view.back()
    expect(view.span).toEqual({ t0_s: 0, t1_s: 60 })
    expect(view.canGoBack).toBe(false)
    view.forward()
    view.forward()
    expect(view.span).toEqual({ t0_s: 20, t1_s: 30 })
    expect(view.canGoForward).toBe(false)
  })

  test('a new view forgets the way forward', () => {
    view.show({ t0_s: 1, t1_s: 2 }, 1000)
    view.back()
    view.show({ t0_s: 3, t1_s: 4 }, 9000)
    expect(view.canGoForward).toBe(false)
  })

  test('showing what is shown already is no step', () => {
    view.show(view.span, 1000)
    expect(view.canGoBack).toBe(false)
  })
})

describe('value and frequency', () => {
  test('a box in time and value is one step, which back undoes whole', () => {
    view.show({ t0_s: 10, t1_s: 20 }, 1000)
    view.showValues('roll', { from: 0.5, to: 0.75 }, 1001)
    view.back()
    expect(view.span).toEqual({ t0_s: 0, t1_s: 60 })
    expect(view.isDrawnOut).toBe(false)
    view.forward()
    expect(view.valuesOf('roll')).toEqual({ from: 0.5, to: 0.75 })
  })

  test('parts stay within the scale and never shrink to nothing', () => {
    view.showValues('roll', { from: -3, to: 0.2 }, 1000)
    expect(view.valuesOf('roll').from).toBeGreaterThanOrEqual(0)
    view.showFrequencies({ from: 0.5, to: 0.5 }, 9000)
    expect(view.frequencies.to - view.frequencies.from).toBeCloseTo(0.01)
    view.showFrequencies({ from: -1, to: 4 }, 20_000)
    expect(view.frequencies).toEqual({ from: 0, to: 1 })
  })

  test('showing the whole lets go of everything that is drawn out', () => {
    view.showValues('yaw', { from: 0.4, to: 0.6 }, 1000)
    view.showFrequencies({ from: 0, to: 0.5 }, 1000)
    expect(view.isWhole).toBe(false)
    view.showWhole()
    expect(view.isWhole).toBe(true)
  })
})
