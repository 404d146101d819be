package whole

import (
	"cmp"
	"slices"
)

// contradiction leaves out one rule after the other of the group, lowest rank first, as long as the others still contradict each
// other (the deletion filter of Chinneck & Dravnieks 1991; from memory): none of those left can be left out. Rules are tried by halves
// first: what can go together could have gone one by one, and as a rule few stay, so that a few checks for each of them do.
func (p *Problem) contradiction(g group, e effort) *Contradiction {
	var named, kept []int
	for _, r := range g.rules {
		if p.Rules[r].Background {
			kept = append(kept, r)
		} else {
			named = append(named, r)
		}
	}
	c := &Contradiction{Smallest: true}
	order := slices.Clone(named)
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(p.Rules[a].Rank, p.Rules[b].Rank) })
	var leaveOut func(some []int)
	leaveOut = func(some []int) {
		without := slices.DeleteFunc(slices.Clone(named), func(n int) bool { return slices.Contains(some, n) })
		switch p.satisfiable(g, slices.Concat(kept, without), e) {
		case none:
			named = without
			return
		case open:
			if len(some) == 1 {
				c.Smallest = false
			}
		}
		if half := len(some) / 2; half > 0 {
			leaveOut(some[:half])
			leaveOut(some[half:])
		}
	}
	if len(order) > 0 {
		leaveOut(order)
	}
	c.Rules = named
	return c
}

// satisfiable tells whether the unknowns of g can satisfy the given rules.
func (p *Problem) satisfiable(g group, rules []int, e effort) state {
	slices.Sort(rules)
	// Without its scores the problem falls into more and smaller parts.
	sub := Problem{}
	mem := memories.Get().(*memory)
	defer memories.Put(mem)
	mem.reset()
	for _, v := range g.vars {
		sub.Vars = append(sub.Vars, p.Vars[v])
	}
	for _, r := range rules {
		rule := p.Rules[r]
		ts, ok := g.renumber(rule.Terms, &mem.terms)
		if !ok {
			return open
		}
		rule.Terms = ts
		if len(ts) == 0 && !holds(rule.Kind, nil, rule.Const, rule.Modulus, nil) {
			return none
		}
		sub.Rules = append(sub.Rules, rule)
	}
	result := found
	for _, part := range sub.groups(sub.every()) {
		pt, err := sub.part(part, true, mem)
		if err != nil {
			return open
		}
		f, err := pt.solve(e, true)
		if err != nil {
			return open
		}
		switch f.state {
		case none:
			return none
		case open:
			result = open
		}
	}
	return result
}
