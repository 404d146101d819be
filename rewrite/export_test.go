package rewrite

import "gaugewright/dsl"

// Worked is the run of a target with its converted numbers, for tests that look at it.
func (c *Conversion) Worked(t int) (*dsl.Run, func(int) int64) {
	return c.solved[t].run, func(q int) int64 { return c.values[t][q] }
}
