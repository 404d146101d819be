package grammar

import "sort"

// Severity says what a diagnostic asks of the reader.
type Severity int

const (
	Note    Severity = iota // worth knowing
	Warning                 // worth a look
	Fault                   // the draft's arithmetic does not hold
	Error                   // the input cannot be read: nothing was made of it
)

func (s Severity) String() string {
	return [...]string{"note", "warning", "fault", "error"}[s]
}

// Diagnostic is one thing to tell about a place in a file. It does not know how it is printed.
type Diagnostic struct {
	Severity Severity
	Check    string    // what found it, for programs: "sum", "in hand"; empty where nobody needs to tell it apart
	Span     Span      // the tight subject
	Summary  string    // one line: what is wrong, in plain words, no full stop
	Detail   string    // what helps to understand it; may be empty
	Related  []Related // the other half of the contradiction
	WayOut   string    // what to try; may be empty
}

// Related is another place that has to do with a diagnostic.
type Related struct {
	Span Span
	Text string
}

// Diagnostics sorts itself by place and is nil when there is nothing to say.
type Diagnostics []Diagnostic

// Sort orders by place, then by severity, gravest first.
func (d Diagnostics) Sort() {
	sort.SliceStable(d, func(i, j int) bool {
		if d[i].Span.Start != d[j].Span.Start {
			return d[i].Span.Start < d[j].Span.Start
		}
		return d[i].Severity > d[j].Severity
	})
}

// Has says whether any diagnostic is at least as grave as s.
func (d Diagnostics) Has(s Severity) bool {
	for _, x := range d {
		if x.Severity >= s {
			return true
		}
	}
	return false
}
