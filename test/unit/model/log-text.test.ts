import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { simulateFlight } from '../../../workers/model/flight.ts'
import { DEMO_STYLE, FINE_STYLE, TERSE_WORDS, WORDY_WORDS } from '../../../workers/model/log-style.ts'
import { writeLog } from '../../../workers/model/log-text.ts'
import { hovering, snaps } from '../../../workers/model/orders.ts'
import { baseSetup } from '../../../workers/model/scenarios.ts'
import { settingsSheet } from '../../../workers/model/settings-sheet.ts'
import { TextWriter } from '../../../workers/model/text-writer.ts'

const record = simulateFlight(baseSetup(3, { orders: hovering(0.5, snaps('roll', 1, 0.5)), logRate_hz: 500 }))
const textOf = (bytes: Uint8Array) => new TextDecoder().decode(bytes)

describe('numbers as text', () => {
  const written = (value: number, decimals: number, point = '.') => {
    const writer = new TextWriter(10)
    writer.number(value, decimals, point.charCodeAt(0))
    return textOf(writer.done())
  }

  test.each([
    [0, 1, '0.0'],
    [-0.04, 1, '0.0'],
    [-0.05, 1, '-0.1'],
    [9.95, 1, '10.0'],
    [1234.5, 0, '1235'],
    [0.001, 3, '0.001'],
    [-12.3456, 2, '-12.35'],
    [4294967295, 0, '4294967295'],
    [Number.NaN, 2, ''],
  ])('%f with %i decimals is %s', (value, decimals, text) => {
    expect(written(value, decimals)).toBe(text)
  })

  test('reads back within half a step, with any decimal mark', () => {
    fc.assert(
      fc.property(
        fc.double({ min: -1e6, max: 1e6, noNaN: true }),
        fc.integer({ min: 0, max: 6 }),
        (value, decimals) => {
          const text = written(value, decimals, ',')
          const back = Number(text.replace(',', '.'))
          expect(Math.abs(back - value)).toBeLessThanOrEqual(0.5 * 10 ** -decimals * (1 + 1e-9) + 1e-9)
          expect(text.split(',')[1]?.length ?? 0).toBe(decimals)
        },
      ),
    )
  })

  test("what does not fit is a programmer's error that names the value", () => {
    expect(() => written(1e16, 0)).toThrow('10000000000000000')
  })
})

describe('a log', () => {
  test('has its preamble, its header and a row of equal width per record row', () => {
    const text = textOf(
      writeLog(record, { style: DEMO_STYLE, preamble: [{ name: 'craft', value: 'Marsh Lantern' }] }),
    )
    const lines = text.split('\n')
    expect(lines[0]).toBe('# craft = Marsh Lantern')
    expect(lines[1]).toBe(
      'time [ms],gyro roll [deg/s],gyro pitch [deg/s],gyro yaw [deg/s],' +
        'gyro unfiltered roll [deg/s],gyro unfiltered pitch [deg/s],gyro unfiltered yaw [deg/s],' +
        'setpoint roll [deg/s],setpoint pitch [deg/s],setpoint yaw [deg/s],stick roll [%],stick pitch [%],stick yaw [%],' +
        'throttle [%],motor 1 [%],motor 2 [%],motor 3 [%],motor 4 [%],' +
        'motor 1 speed [rpm],motor 2 speed [rpm],motor 3 speed [rpm],motor 4 speed [rpm],' +
        'I-term roll [%],I-term pitch [%],I-term yaw [%],D-term roll [%],D-term pitch [%],D-term yaw [%],' +
        'battery voltage [V]',
    )
    expect(lines.at(-1)).toBe('')
    expect(lines).toHaveLength(record.rows + 3)
    const widths = new Set(lines.slice(1, -1).map((line) => line.split(',').length))
    expect([...widths]).toEqual([29])
  })

  test.each([
    ['demo', DEMO_STYLE, 0.05],
    ['fine', FINE_STYLE, 0.00005],
  ])('the %s style carries the record to its last decimal', (_name, style, step_dps) => {
    const text = textOf(writeLog(record, { style, preamble: [] }))
    const rows = text.trimEnd().split('\n').slice(1)
    for (const row of [0, 700, record.rows - 1]) {
      const cells = rows[row]!.split(',').map(Number)
      expect(Math.abs(cells[1]! - record.gyro_dps[0]![row]!)).toBeLessThanOrEqual(step_dps * 1.001)
      expect(cells[0]! * (style === FINE_STYLE ? 1e-6 : 1e-3)).toBeCloseTo(record.t_s[row]!, 3)
    }
  })

  test('other units and words: the same flight in rad/s, 16-bit shares and stick pulses', () => {
    const style = {
      ...DEMO_STYLE,
      separator: ';' as const,
      decimal: ',' as const,
      rate: { unit: 'radps' as const, decimals: 4 },
      share: { unit: 'bits16' as const, decimals: 0 },
      stick: { unit: 'stickUs' as const, decimals: 0 },
      words: TERSE_WORDS,
    }
    const lines = textOf(writeLog(record, { style, preamble: [] })).split('\n')
    expect(lines[0]).toBe(
      't;w_x;w_y;w_z;w_raw_x;w_raw_y;w_raw_z;w_set_x;w_set_y;w_set_z;stick_x;stick_y;stick_z;thr;m1;m2;m3;m4;' +
        'rpm1;rpm2;rpm3;rpm4;i_x;i_y;i_z;d_x;d_y;d_z;vbat',
    )
    const row = 900
    const cells = lines[row + 1]!.split(';').map((cell) => Number(cell.replace(',', '.')))
    expect(cells[1]).toBeCloseTo((record.gyro_dps[0]![row]! * Math.PI) / 180, 3)
    expect(cells[10]).toBeCloseTo(1500 + 500 * record.stick[0]![row]!, 0)
    expect(cells[13]).toBe(Math.round(record.throttle[row]! * 65535))
  })

  test('wordy headers name every column differently', () => {
    const text = textOf(writeLog(record, { style: { ...FINE_STYLE, words: WORDY_WORDS }, preamble: [] }))
    const names = text.split('\n')[0]!.split(',')
    expect(new Set(names).size).toBe(35)
    expect(names[1]).toBe('measured angular rate about X in deg/s')
  })

  test('the terms add up to the demand, and rotors turn as the motors are told', () => {
    const style = { ...FINE_STYLE, speed: { unit: 'erpm' as const, decimals: 0 } }
    const lines = textOf(writeLog(record, { style, preamble: [] }))
      .trimEnd()
      .split('\n')
    const names = lines[0]!.split(',')
    const cells = lines[901]!.split(',').map(Number)
    const of = (name: string) => cells[names.indexOf(name)]!
    const row = 900
    expect(of('D-term roll [-1..1]')).toBeCloseTo(record.dTerm[0]![row]!, 6)
    // Electrical turns count the pole pairs: seven in the model.
    expect(of('motor 1 speed [electrical rpm]')).toBeCloseTo(7 * 60 * record.speed_revps[0]![row]!, -1)
    // P is the error times its gain, share per 1000 deg/s.
    const error = record.setpoint_dps[0]![row]! - record.gyro_dps[0]![row]!
    expect(record.pTerm[0]![row]).toBeCloseTo((error * 1.1) / 1000, 5)
  })

  test("stamps and rows of different number are a programmer's error", () => {
    const stamps_s = new Float64Array(3)
    expect(() => writeLog(record, { style: DEMO_STYLE, preamble: [], stamps_s })).toThrow('3')
  })
})

test('a settings sheet is "name = value" lines with comments, without binary dust', () => {
  const { craft, tune } = baseSetup(1)
  const lines = settingsSheet(craft, tune).trimEnd().split('\n')
  for (const line of lines) expect(line).toMatch(/^(|#.*|[^=]+ = [^=]+)$/)
  expect(lines).toContain('motor idle % = 5.5')
  expect(lines).toContain('propeller inch = 5')
  expect(settingsSheet(craft, { ...tune, gyroLowPass: null })).toContain('gyro low-pass Hz = off')
})
