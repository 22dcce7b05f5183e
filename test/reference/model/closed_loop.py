"""Closed rate loops computed with SciPy in continuous time, to check the simulator against.

Run from the project's folder:  /usr/bin/python3 test/reference/model/closed_loop.py
Writes test/fixtures/model/closed-loop.json. Made with SciPy 1.10 (Debian python3-scipy).

Nothing is shared with the program but the parameters: the airframe is linearised numerically from its physics
(scipy.optimize.brentq and a central difference), filters are analog prototypes (scipy.signal.butter, analog),
delays are Pade approximants (scipy.interpolate.pade), the loop is closed with state-space matrices, and the
responses come from scipy.signal (cont2discrete by zero-order hold, exact for a step). The handbook cases of
second order are taken straight from scipy.signal.step of wn^2 / (s^2 + 2 zeta wn s + wn^2).
"""
import json
import math
import os

import numpy as np
from scipy import interpolate, optimize, signal

RATE_HZ = 16000
DURATION_S = 0.5
AIR_DENSITY = 1.225
GRAVITY = 9.80665
DEGREES = 180 / math.pi

BASE_CRAFT = {
    'name': 'reference',
    'mass_kg': 0.7,
    'inertia_kgm2': {'roll': 0.0032, 'pitch': 0.0041, 'yaw': 0.0062},
    'armForward_m': 0.08,
    'armSide_m': 0.09,
    'propeller': {'diameter_m': 0.127, 'thrustCoefficient': 0.15, 'torqueCoefficient': 0.012, 'blades': 3},
    'motor': {
        'fullSpeed_revps': 430, 'droop': 0.35, 'lagUp_s': 0.02, 'lagDown_s': 0.02,
        'rotorInertia_kgm2': 5e-6, 'thrustLaw': 'propeller',
    },
    'battery': {'cells': 4, 'capacity_Ah': 1.5, 'resistance_ohm': 0.02, 'full_V': 4.2, 'empty_V': 3.4, 'nominal_V': 3.8},
    'damping_Nms': {'roll': 0.002, 'pitch': 0.003, 'yaw': 0.001},
    'drag_Nspm': 0.25,
    'transportDelay_s': 0.001,
    'vibration': {
        'imbalance_dps': [0, 0, 0, 0], 'secondHarmonic': 0, 'bladePass': 0, 'resonance_hz': 225,
        'resonanceQuality': 9, 'resonanceGain': 0, 'gyroNoise_dpsrtHz': 0,
    },
}


def gains(p, i=0, d=0, forward=0):
    return {'p': p, 'i': i, 'd': d, 'feedForward': forward, 'windupLimit': 1}


def tune(axis_gains, low=None, notches=(), d_low=None, control_hz=4000):
    return {
        'axes': {axis: axis_gains for axis in ('roll', 'pitch', 'yaw')},
        'curves': {axis: {'full_dps': 600, 'softness': 0.3} for axis in ('roll', 'pitch', 'yaw')},
        'gyroLowPass': low,
        'notches': list(notches),
        'dLowPass_hz': d_low,
        'stickSmoothing_hz': None,
        'controlRate_hz': control_hz,
        'idle': 0.05,
        'top': 1,
    }


# --- state-space blocks: (A, B, C, D), one input, one output ---

def block(numerator, denominator):
    return signal.tf2ss(numerator, denominator)


def series(first, second):
    a1, b1, c1, d1 = first
    a2, b2, c2, d2 = second
    a = np.block([[a1, np.zeros((a1.shape[0], a2.shape[0]))], [b2 @ c1, a2]])
    return a, np.vstack([b1, b2 @ d1]), np.hstack([d2 @ c1, c2]), d2 @ d1


def parallel(first, second):
    a1, b1, c1, d1 = first
    a2, b2, c2, d2 = second
    a = np.block([[a1, np.zeros((a1.shape[0], a2.shape[0]))], [np.zeros((a2.shape[0], a1.shape[0])), a2]])
    return a, np.vstack([b1, b2]), np.hstack([c1, c2]), d1 + d2


def gain(value):
    return np.zeros((0, 0)), np.zeros((0, 1)), np.zeros((1, 0)), np.array([[value]])


def close(forward, inner):
    """y = forward * (x - inner * y); forward is strictly proper."""
    a1, b1, c1, _ = forward
    a2, b2, c2, d2 = inner
    a = np.block([[a1 - b1 @ d2 @ c1, -b1 @ c2], [b2 @ c1, a2]])
    return a, np.vstack([b1, np.zeros((a2.shape[0], 1))]), np.hstack([c1, np.zeros((1, a2.shape[0]))]), np.zeros((1, 1))


def delay(seconds):
    """Three Pade approximants of order 2 in a row: far apart poles would spoil one of high order."""
    if seconds == 0:
        return gain(1.0)
    numerator, denominator = interpolate.pade([1, -1, 1 / 2, -1 / 6, 1 / 24], 2)
    t = seconds / 3
    one = block(numerator.coeffs * [t * t, t, 1], denominator.coeffs * [t * t, t, 1])
    return series(series(one, one), one)


# --- the airframe, linearised numerically ---

def settled_speed(craft, command):
    """Speed at which back-EMF and the windings' drop use up the voltage: (1-r) x + r x^2 = command."""
    r = craft['motor']['droop']
    x = optimize.brentq(lambda s: (1 - r) * s + r * s * s - command, 0, 3, xtol=1e-14)
    return x * craft['motor']['fullSpeed_revps']


def plant(craft, axis, delay_s):
    motor, prop = craft['motor'], craft['propeller']
    thrust = lambda n: prop['thrustCoefficient'] * AIR_DENSITY * n * n * prop['diameter_m'] ** 4
    drag = lambda n: prop['torqueCoefficient'] * AIR_DENSITY * n * n * prop['diameter_m'] ** 5
    inertia = craft['inertia_kgm2'][axis]
    arm = {'roll': craft['armSide_m'], 'pitch': craft['armForward_m'], 'yaw': 1}[axis]
    effect = drag if axis == 'yaw' else thrust
    full = motor['fullSpeed_revps']
    lead = 0.0
    if motor['thrustLaw'] == 'linear':
        slope = effect(full)
    else:
        weight = craft['mass_kg'] * GRAVITY / 4
        hover = optimize.brentq(lambda u: thrust(settled_speed(craft, u)) - weight, 1e-4, 1)
        step = 1e-6
        low, high = settled_speed(craft, hover - step), settled_speed(craft, hover + step)
        slope = (effect(high) - effect(low)) / (2 * step)
        if axis == 'yaw':
            # The rotor's own angular momentum pushes back as it speeds up.
            lead = 2 * math.pi * motor['rotorInertia_kgm2'] * (high - low) / (2 * step) / slope
    lag = 2 / (1 / motor['lagUp_s'] + 1 / motor['lagDown_s'])
    turning = block([1], [inertia, craft['damping_Nms'][axis]])
    spin = block([lead, 1] if lead else [1], [lag, 1])
    return series(series(series(delay(delay_s), gain(4 * arm * slope * DEGREES)), spin), turning)


def gyro_path(settings):
    chain = gain(1.0)
    for one in settings['notches']:
        w = 2 * math.pi * one['f_hz']
        chain = series(chain, block([1, 0, w * w], [1, w / one['quality'], w * w]))
    low = settings['gyroLowPass']
    if low:
        chain = series(chain, block(*signal.butter(low['order'], 2 * math.pi * low['f_hz'], analog=True)))
    return chain


def loops(craft, settings, axis):
    """Forward path demand -> rate, and return path rate -> demand (P, I and D, filters).

    A sampled controller holds its demand for a control period: half a period of delay. A difference quotient is
    the derivative of half a period ago: as much again for D and feed-forward.
    """
    g = settings['axes'][axis]
    half_s = 0.5 / settings['controlRate_hz']
    forward = plant(craft, axis, craft['transportDelay_s'] + half_s)
    pi = block([g['p'] / 1000, g['i'] / 1000], [1, 0]) if g['i'] else gain(g['p'] / 1000)
    back = pi
    if g['d']:
        w = 2 * math.pi * settings['dLowPass_hz']
        back = parallel(pi, series(delay(half_s), block([w * g['d'] / 1000, 0], [1, w])))
    return forward, pi, series(gyro_path(settings), back)


def closed(craft, settings, axis):
    """Two systems to the filtered gyro: from setpoint through P and I, and from setpoint's derivative."""
    forward, pi, back = loops(craft, settings, axis)
    inner = close(forward, back)
    seen = series(inner, gyro_path(settings))
    half_s = 0.5 / settings['controlRate_hz']
    return series(pi, seen), series(delay(half_s), seen)


def step_samples(system, count):
    a, b, c, d, _ = signal.cont2discrete(system, 1 / RATE_HZ, method='zoh')
    x = np.zeros((a.shape[0], 1))
    out = np.empty(count)
    for k in range(count):
        out[k] = (c @ x + d)[0, 0]
        x = a @ x + b
    return out


def impulse_samples(system, count):
    """Response to a unit impulse, by the derivative of the step's exact state."""
    a, b, c, _ = system
    ad, _, _, _, _ = signal.cont2discrete(system, 1 / RATE_HZ, method='zoh')
    x = b.copy()
    out = np.empty(count)
    for k in range(count):
        out[k] = (c @ x)[0, 0]
        x = ad @ x
    return out


def response(craft, settings, axis):
    """Every millisecond. A step between two control samples lies half a period before the one that shows it."""
    through_pi, from_demand = closed(craft, settings, axis)
    early = round(RATE_HZ * 0.5 / settings['controlRate_hz'])
    count = int(DURATION_S * RATE_HZ) + early + 1
    y = step_samples(through_pi, count)
    forward = settings['axes'][axis]['feedForward'] / 1000
    if forward:
        y = y + forward * impulse_samples(from_demand, count)
    return y[early :: RATE_HZ // 1000]


def frequency(craft, settings, axis, f_hz):
    through_pi, from_demand = closed(craft, settings, axis)
    forward = settings['axes'][axis]['feedForward'] / 1000
    out = []
    for f in f_hz:
        s = 2j * math.pi * f
        value = 0
        for (a, b, c, d), factor in ((through_pi, 1), (from_demand, forward * s)):
            value = value + factor * (c @ np.linalg.solve(s * np.eye(a.shape[0]) - a, b) + d)[0, 0]
        out.append(value)
    return np.array(out)


def largest_stable_p(craft, settings, axis):
    def growth(p):
        trial = json.loads(json.dumps(settings))
        trial['axes'][axis]['p'] = p
        forward, _, back = loops(craft, trial, axis)
        return np.linalg.eigvals(close(forward, back)[0]).real.max()
    low = settings['axes'][axis]['p']
    high = low
    while growth(high) < 1e-9:
        high *= 1.5
    return optimize.bisect(lambda p: growth(p) - 1e-9, low, high, xtol=1e-4)


F_HZ = [0.5, 1, 2, 4, 7, 10, 15, 20, 30, 50]


def realistic(name, axis, axis_gains, craft=BASE_CRAFT, **settings):
    t = tune(axis_gains, **settings)
    h = frequency(craft, t, axis, F_HZ)
    y = response(craft, t, axis)
    return {
        'name': name,
        'axis': axis,
        'craft': craft,
        'tune': t,
        'gyro': [round(v, 6) for v in y],
        'frequency': {
            'f_hz': F_HZ,
            'gain': [round(v, 6) for v in np.abs(h)],
            'phase_deg': [round(v, 4) for v in np.degrees(np.unwrap(np.angle(h)))],
        },
        'largestStableP': round(largest_stable_p(craft, t, axis), 4),
    }


def handbook(name, zeta, wn):
    """P alone round an idealised motor: lag 1/(2 zeta wn), loop gain wn^2 lag; nothing else in the loop."""
    lag = 1 / (2 * zeta * wn)
    craft = json.loads(json.dumps(BASE_CRAFT))
    craft['motor'].update(thrustLaw='linear', lagUp_s=lag, lagDown_s=lag)
    craft['transportDelay_s'] = 0
    craft['damping_Nms'] = {'roll': 0, 'pitch': 0, 'yaw': 0}
    prop = craft['propeller']
    full_N = prop['thrustCoefficient'] * AIR_DENSITY * craft['motor']['fullSpeed_revps'] ** 2 * prop['diameter_m'] ** 4
    share = 4 * craft['armSide_m'] * full_N / craft['inertia_kgm2']['roll'] * DEGREES
    times = np.arange(0, 4, 0.001)
    _, y = signal.step(([wn * wn], [1, 2 * zeta * wn, wn * wn]), T=times)
    return {
        'name': name,
        'axis': 'roll',
        'zeta': zeta,
        'wn': wn,
        'craft': craft,
        'tune': tune(gains(1000 * wn * wn * lag / share), control_hz=8000),
        'gyro': [round(v, 6) for v in y],
    }


LOW_130 = {'f_hz': 130, 'order': 2}
NOTCH = {'f_hz': 225, 'quality': 4}
UNEQUAL = json.loads(json.dumps(BASE_CRAFT))
UNEQUAL['motor'].update(lagUp_s=0.016, lagDown_s=0.024)

CASES = [
    handbook('second order, zeta .6, wn 5', 0.6, 5),
    handbook('second order, zeta .456, wn 3.53', 0.456, 3.53),
    realistic('roll, P I D and feed-forward', 'roll', gains(1.1, 2.5, 0.007, 0.006), low=LOW_130, notches=[NOTCH], d_low=90),
    realistic('pitch, stiff and damped', 'pitch', gains(2.6, 6, 0.02, 0.012), low=LOW_130, notches=[NOTCH], d_low=120),
    realistic('yaw with the rotors\' reaction', 'yaw', gains(2.4, 16, 0, 0.006), low=LOW_130, notches=[NOTCH], d_low=90),
    realistic('roll, first-order filter, fast loop', 'roll', gains(0.9, 4, 0.004), low={'f_hz': 90, 'order': 1}, d_low=70, control_hz=8000),
    realistic('roll, motors up and down unlike', 'roll', gains(1.1, 2.5, 0.007, 0.006), craft=UNEQUAL, low=LOW_130, d_low=90),
]

if __name__ == '__main__':
    target = os.path.join(os.path.dirname(__file__), '..', '..', 'fixtures', 'model', 'closed-loop.json')
    with open(target, 'w') as out:
        json.dump({'command': '/usr/bin/python3 test/reference/model/closed_loop.py', 'cases': CASES}, out)
        out.write('\n')
    for case in CASES:
        print(case['name'], 'peak', max(case['gyro']), 'largest stable P', case.get('largestStableP'))
