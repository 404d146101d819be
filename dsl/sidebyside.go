package dsl

import (
	"runtime"
	"sync"
	"sync/atomic"
)

// SideBySide does n things that share nothing they change, on as many processors as there are, and returns when all are done. What
// one of them panics with, the caller does.
func SideBySide(n int, do func(i int)) {
	hands := min(n, runtime.GOMAXPROCS(0))
	if hands < 2 {
		for i := range n {
			do(i)
		}
		return
	}
	var next atomic.Int64
	var all sync.WaitGroup
	var slip atomic.Pointer[any]
	hand := func() {
		defer func() {
			if x := recover(); x != nil {
				slip.Store(&x)
			}
		}()
		for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
			do(i)
		}
	}
	for range hands - 1 {
		all.Go(hand)
	}
	hand()
	all.Wait()
	if x := slip.Load(); x != nil {
		panic(*x)
	}
}
