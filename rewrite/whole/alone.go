package whole

// alone is the answer of a part that is one unknown with one score and no rule, as many numbers of a garment are; nil for any
// other part. One of the two whole numbers about the one wished for is the best.
func (pt *part) alone() *finding {
	if len(pt.lo) != 1 || len(pt.rules) > 0 || len(pt.forms) != 1 || len(pt.forms[0].terms) != 1 {
		return nil
	}
	lo, hi := pt.lo[0], pt.hi[0]
	k, c := pt.forms[0].terms[0].Coef, pt.forms[0].constant
	if lo > hi || max(size(lo), size(hi), size(k), size(c)) >= uint64(unbounded) {
		return nil
	}
	if k < 0 {
		k, c = -k, -c
	}
	x := pt.mem.longs.take(1)
	at := func(v int64) (int64, total) {
		x[0] = max(lo, min(hi, v))
		return x[0], pt.sum(x)
	}
	a, cost0 := at(floorDiv(-c, k))
	b, cost1 := at(floorDiv(-c, k) + 1)
	if order := cost1.cmp(cost0); order < 0 || order == 0 && pt.larger(a, b) {
		a, cost0 = b, cost1
	}
	x[0] = a
	sum := cost{cost0, pt.unit}
	return &finding{x: x, proven: true, sum: sum, bound: sum}
}

// larger says whether the tie-break prefers b to a, which is not larger, for the only unknown.
func (pt *part) larger(a, b int64) bool {
	if len(pt.better) > 0 {
		return pt.better[0][0].Coef > 0
	}
	return apart(b, pt.hint[0]) <= apart(a, pt.hint[0])
}
