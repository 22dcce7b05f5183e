/** The comparison's method; the version is raised whenever it would give other numbers or words. */
export const COMPARISON_METHOD = { id: 'comparison', version: 2 }
