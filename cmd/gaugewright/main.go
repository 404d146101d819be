// Gaugewright re-derives knitting patterns for another gauge, another size or another wearer. It reads drafts in
// Markdown and writes text; the packages it joins do the work and know nothing of files, terminals or exit statuses.
package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"runtime/debug"
	"strings"

	"github.com/spf13/pflag"
	"golang.org/x/term"

	"gaugewright/grammar"
	"gaugewright/render"
)

// Exit statuses.
const (
	done    = 0
	found   = 1 // done, and something was found that a person must look at
	refused = 2 // the input or the options are wrong, and nothing was written
)

func main() {
	// A command is over before much of its memory could be used again: little is collected, which costs more than it gives.
	debug.SetGCPercent(400)
	os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr, os.Getenv))
}

// run is the whole program: the arguments without the program's name go in, the exit status comes out.
func run(args []string, stdin io.Reader, stdout, stderr io.Writer, env func(string) string) int {
	coloured := env("NO_COLOR") == "" && env("TERM") != "dumb"
	p := &program{env: env, stdin: stdin, stdout: stdout, stderr: stderr, coloured: coloured, colour: coloured && onTerminal(stderr)}
	if len(args) == 0 {
		fmt.Fprint(stderr, usage)
		return refused
	}
	name := args[0]
	switch name {
	case "help", "--help", "-h":
		return p.help(args[1:])
	}
	c := commandNamed(name)
	if c == nil {
		return p.fail(unknownCommand(name))
	}
	p.command = name
	status, err := p.guarded(c, args[1:])
	if errors.Is(err, pflag.ErrHelp) {
		return p.help([]string{name})
	}
	if err != nil {
		return p.fail(err)
	}
	return status
}

// slip begins the message for a fault of the program itself.
const slip = "this is a slip of the program, not of yours"

// guarded runs a command. A fault of the program itself becomes a message, not a trace; files appear whole or not at all, so none
// is left half written.
func (p *program) guarded(c *command, args []string) (status int, err error) {
	defer func() {
		if x := recover(); x != nil {
			status, err = refused, failuref("please report it, with the draft and the command", "%s: %v", slip, x)
		}
	}()
	return c.do(p, args)
}

// program is the outside as a command sees it.
type program struct {
	command        string
	env            func(string) string
	stdin          io.Reader
	stdout, stderr io.Writer
	coloured       bool // colours are wanted where there is a terminal
	colour         bool // for what goes to stderr
}

func onTerminal(w io.Writer) bool {
	f, ok := w.(*os.File)
	return ok && term.IsTerminal(int(f.Fd()))
}

// tell writes diagnostics about f to standard error.
func (p *program) tell(f *grammar.File, d grammar.Diagnostics) {
	if len(d) > 0 {
		p.stderr.Write(render.Diagnostics(f, d, p.colour))
	}
}

// fail tells why nothing was written.
func (p *program) fail(err error) int {
	var m *misread
	if errors.As(err, &m) {
		p.tell(m.file, m.diags)
		if m.then != "" {
			fmt.Fprintln(p.stderr, m.then)
		}
		return refused
	}
	who := "gaugewright"
	if p.command != "" {
		who += " " + p.command
	}
	fmt.Fprintf(p.stderr, "%s: %s\n", who, err)
	var f *failure
	if errors.As(err, &f) && f.try != "" {
		fmt.Fprintf(p.stderr, "  Try: %s\n", f.try)
	}
	return refused
}

// misread is an input that could not be read for what it should be: a draft, a card, or the text of an option.
type misread struct {
	file  *grammar.File
	diags grammar.Diagnostics
	then  string // a last line
}

func (m *misread) Error() string { return m.file.Name + " cannot be read" }

func commandNamed(name string) *command {
	for i := range commands {
		if commands[i].name == name {
			return &commands[i]
		}
	}
	return nil
}

func commandNames() (names []string) {
	for _, c := range commands {
		names = append(names, c.name)
	}
	return names
}

func unknownCommand(name string) error {
	names := commandNames()
	try := "the commands are " + andList(names)
	if strings.HasPrefix(name, "-") {
		try = "name the command first; " + try
	} else if near := grammar.Nearest(strings.ToLower(name), names); near != "" {
		try = "did you mean " + near + "?"
	}
	return failuref(try, "there is no command %q", name)
}

// help writes the text for one command, or for all.
func (p *program) help(args []string) int {
	text := usage
	if len(args) > 0 {
		c := commandNamed(args[0])
		if c == nil {
			return p.fail(unknownCommand(args[0]))
		}
		text = c.usage
	}
	p.command = ""
	if err := p.write("", []byte(text)); err != nil {
		return p.fail(err)
	}
	return done
}

func andList(n []string) string {
	switch len(n) {
	case 0:
		return ""
	case 1:
		return n[0]
	}
	return strings.Join(n[:len(n)-1], ", ") + " and " + n[len(n)-1]
}
