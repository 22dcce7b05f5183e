/** Numbers in a row, as they are stored. */
export type Samples = Float32Array | Float64Array

export const areSamples = (values: ArrayLike<number>): values is Samples =>
  values instanceof Float32Array || values instanceof Float64Array
