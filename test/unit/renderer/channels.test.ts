import { describe, expect, test } from 'vitest'
import { traceRows, wordsFor } from '../../../renderer/compare/channels.ts'
import type { ChannelName } from '../../../workers/flight/signals.ts'

describe('rows from whatever channels two flights have', () => {
  test('axes, numbered families and single channels each make a row, in their usual order', () => {
    const rows = traceRows([
      'battery',
      'motor.2',
      'motor.1',
      'gyro.yaw',
      'throttle',
      'gyro.roll',
      'setpoint.roll',
      'gyro.roll',
    ])
    expect(rows.map(({ id }) => id)).toEqual(['roll', 'yaw', 'throttle', 'motor', 'battery'])
    expect(rows[0]!.channels.map(({ channel }) => channel)).toEqual(['setpoint.roll', 'gyro.roll'])
    expect(rows[0]!.usual).toEqual(['setpoint', 'gyro'])
    expect(rows[3]!.channels.map(({ name }) => name)).toEqual(['motor 1', 'motor 2'])
  })

  test('an axis without a gyro draws what it has', () => {
    expect(traceRows(['stick.roll'])[0]!.usual).toEqual(['stick'])
  })

  test('a channel that nobody thought of gets a row by its own name', () => {
    const [row] = traceRows(['airPressure' as ChannelName])
    expect(row).toMatchObject({ id: 'airPressure', title: 'air pressure', usual: ['airPressure'] })
    expect(wordsFor('wheelForce.roll' as ChannelName).name).toBe('wheel force')
  })
})
