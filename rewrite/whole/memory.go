package whole

import "sync"

// memory is what the parts of problems are written into, one part after the other, so that setting up a small part does not cost
// more than solving it. Nothing of a part is used after the memory is reset.
type memory struct {
	terms   store[Term]
	rows    store[[]Term]
	rules   store[Rule]
	forms   store[form]
	weights store[weight]
	longs   store[int64]
	ints    store[int]
	picks   store[int32]
	prices  store[price]
	owned   store[[]price]
	aliases store[alias]
	lines   store[line]
	sights  store[sight]
	sets    store[numbers]
	tables  store[table]
	strands store[strand]
	strips  store[strip]
	spots   store[spot]
	flags   store[bool]
	rowsOf  store[[]int32]
	sums    map[pair]int
}

var memories = sync.Pool{New: func() any { return &memory{sums: map[pair]int{}} }}

func (m *memory) reset() {
	m.terms.reset()
	m.rows.reset()
	m.rules.reset()
	m.forms.reset()
	m.weights.reset()
	m.longs.reset()
	m.ints.reset()
	m.picks.reset()
	m.prices.reset()
	m.owned.reset()
	m.aliases.reset()
	m.lines.reset()
	m.sights.reset()
	m.sets.reset()
	m.tables.reset()
	m.strands.reset()
	m.strips.reset()
	m.spots.reset()
	m.flags.reset()
	m.rowsOf.reset()
	clear(m.sums)
}

// store hands out many small slices of few large ones.
type store[T any] struct{ all, rest []T }

// take is n zeros; appending to them does not touch what is taken next.
func (s *store[T]) take(n int) []T {
	if len(s.rest) < n {
		s.all = make([]T, max(n, 2*len(s.all), 64))
		s.rest = s.all
	}
	out := s.rest[:n:n]
	s.rest = s.rest[n:]
	clear(out)
	return out
}

// reset takes everything back. The largest piece stays.
func (s *store[T]) reset() { s.rest = s.all }

func (m *memory) clone(x []int64) []int64 {
	out := m.longs.take(len(x))
	copy(out, x)
	return out
}

func (m *memory) three(a, b, c Term) []Term {
	out := m.terms.take(3)
	out[0], out[1], out[2] = a, b, c
	return out
}
