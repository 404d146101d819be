package main

import (
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"

	"gaugewright/grammar"
	"gaugewright/render"
)

// failure is what went wrong outside the draft: with a file, or with how the command was given. try may be empty.
type failure struct{ what, try string }

func (f *failure) Error() string { return f.what }

func failuref(try, format string, args ...any) error {
	return &failure{fmt.Sprintf(format, args...), try}
}

// source is a file that was read. info tells which file it was, so that nothing is written over it; it is nil where the
// input has no file behind it.
type source struct {
	path string
	name string // what messages call it
	text []byte
	info fs.FileInfo
}

// read reads one input whole; `-` is standard input. what says what is expected there: "a draft", "a body card".
func (p *program) read(path, what string) (*source, error) {
	s := &source{path: path, name: path}
	in := p.stdin
	if path == "-" {
		s.name = "standard input"
		if f, ok := p.stdin.(*os.File); ok {
			s.info, _ = f.Stat()
		}
	} else {
		f, err := os.Open(path)
		if err != nil {
			return nil, failuref("", "%s: %s", path, plain(err))
		}
		defer f.Close()
		if s.info, err = f.Stat(); err != nil {
			return nil, failuref("", "%s: %s", path, plain(err))
		}
		in = f
	}
	if s.info != nil && s.info.IsDir() {
		return nil, failuref("", "%s is a folder, not %s", s.name, what)
	}
	var err error
	if s.text, err = io.ReadAll(io.LimitReader(in, grammar.MaxSource+1)); err != nil {
		return nil, failuref("", "%s: %s", s.name, plain(err))
	}
	if len(s.text) > grammar.MaxSource {
		return nil, failuref("", "%s is larger than %d MB, which no pattern is", s.name, grammar.MaxSource>>20)
	}
	return s, nil
}

// target is a place that may be written to.
type target struct {
	path   string // with symbolic links followed, so that a link stays one
	stream bool   // a pipe or a device: written straight, as there is nothing to replace
	mode   fs.FileMode
	exists bool
}

// place finds out whether path may be written, without changing anything.
func place(path string, sources []*source) (target, error) {
	t := target{path: path, mode: 0o666}
	info, err := os.Stat(path)
	if err == nil && info.IsDir() {
		return t, failuref("name a file in it", "%s is a folder", path)
	}
	if err == nil && !info.Mode().IsRegular() {
		t.exists, t.stream = true, true
		return t, nil
	}
	if l, lerr := os.Lstat(path); lerr == nil && l.Mode()&fs.ModeSymlink != 0 {
		if t.path, lerr = filepath.EvalSymlinks(path); lerr != nil {
			return t, failuref("", "%s is a link that leads nowhere", path)
		}
	}
	if errors.Is(err, fs.ErrNotExist) {
		dir := filepath.Dir(t.path)
		if info, err := os.Stat(dir); err != nil || !info.IsDir() {
			return t, failuref("make it first", "%s: there is no folder %s", path, dir)
		}
		return t, nil
	}
	if err != nil {
		return t, failuref("", "%s: %s", path, plain(err))
	}
	for _, s := range sources {
		if s.info != nil && os.SameFile(s.info, info) {
			return t, failuref("write to another file", "%s is the file that was read, and nothing is written over it", path)
		}
	}
	// Renaming would replace a file that is write-protected, which is not what its owner asked for.
	f, err := os.OpenFile(t.path, os.O_WRONLY, 0)
	if err != nil {
		return t, failuref("", "%s: %s", path, plain(err))
	}
	f.Close()
	t.exists, t.mode = true, info.Mode().Perm()
	return t, nil
}

// write writes text to path, whole or not at all; "" and `-` are standard output.
func (p *program) write(path string, text []byte, sources ...*source) error {
	if path == "" || path == "-" {
		if f, ok := p.stdout.(*os.File); ok {
			info, err := f.Stat()
			for _, s := range sources {
				if err == nil && info.Mode().IsRegular() && s.info != nil && os.SameFile(s.info, info) {
					return failuref("write to another file", "standard output is the file that was read, and nothing is written over it")
				}
			}
		}
		if _, err := p.stdout.Write(text); err != nil {
			return failuref("", "standard output: %s", plain(err))
		}
		return nil
	}
	t, err := place(path, sources)
	if err != nil {
		return err
	}
	if t.stream {
		f, err := os.OpenFile(t.path, os.O_WRONLY, 0)
		if err == nil {
			err = writeClose(f, text)
		}
		if err != nil {
			return failuref("", "%s: %s", path, plain(err))
		}
		return nil
	}
	staged, err := stage(filepath.Dir(t.path), text, t)
	if err == nil {
		if err = os.Rename(staged, t.path); err != nil {
			os.Remove(staged)
		}
	}
	if err != nil {
		return failuref("", "%s: %s", path, plain(err))
	}
	return nil
}

// writeFolder writes several files into a folder, which is made where there is none. Everything is on the disk before
// the first file gets its name.
func writeFolder(folder string, files []render.Output, sources []*source) error {
	folder = filepath.Clean(folder)
	info, err := os.Stat(folder)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return newFolder(folder, files)
	case err != nil:
		return failuref("", "%s: %s", folder, plain(err))
	case !info.IsDir():
		return failuref("", "%s is a file, not a folder", folder)
	}
	// Folders within it that are not there yet are made, and go again where a file cannot be written.
	var made []string
	for _, f := range files {
		in := filepath.Join(folder, filepath.Dir(filepath.FromSlash(f.Path)))
		if _, err := os.Stat(in); !errors.Is(err, fs.ErrNotExist) {
			continue
		}
		if err = os.Mkdir(in, 0o777); err != nil { // one folder deep is all that is asked for
			err = failuref("", "%s: %s", in, plain(err))
			break
		}
		made = append(made, in)
	}
	if err == nil {
		err = fill(folder, folder, files, sources)
	}
	if err != nil {
		for _, in := range made {
			os.Remove(in)
		}
	}
	return err
}

// newFolder makes a folder with files in it, and folders where their paths ask for them. It is filled under another name, so that
// it appears with everything in it. An empty folder in its place gives way to it.
func newFolder(folder string, files []render.Output) error {
	folder = filepath.Clean(folder)
	if l, err := os.Lstat(folder); err == nil && l.Mode()&fs.ModeSymlink != 0 {
		there, err := filepath.EvalSymlinks(folder)
		if err != nil {
			return failuref("", "%s is a link that leads nowhere", folder)
		}
		folder = there
	}
	up := filepath.Dir(folder)
	if info, err := os.Stat(up); err != nil || !info.IsDir() {
		return failuref("make it first", "%s: there is no folder %s", folder, up)
	}
	into := filepath.Join(up, passing())
	err := os.Mkdir(into, 0o777)
	for _, f := range files {
		if err == nil {
			err = os.MkdirAll(filepath.Join(into, filepath.Dir(filepath.FromSlash(f.Path))), 0o777)
		}
	}
	if err == nil {
		err = fill(into, folder, files, nil)
	}
	if info, there := os.Lstat(folder); err == nil && there == nil && info.IsDir() {
		err = os.Remove(folder) // only where it is empty
	}
	if err == nil {
		err = os.Rename(into, folder)
	}
	if err == nil {
		return nil
	}
	os.RemoveAll(into)
	var f *failure
	if errors.As(err, &f) {
		return err
	}
	return failuref("", "%s: %s", folder, plain(err))
}

// fill writes files into a folder that is there. Messages call it by its name, which may not be its own yet.
func fill(folder, name string, files []render.Output, sources []*source) error {
	targets := make([]target, len(files))
	for i, f := range files {
		var err error
		path := filepath.Join(folder, filepath.FromSlash(f.Path))
		if targets[i], err = place(path, sources); err == nil && targets[i].stream {
			err = failuref("", "%s is not a file", path)
		}
		if err != nil {
			return err
		}
	}
	var staged []string
	undo := func(err error) error {
		for _, s := range staged {
			os.Remove(s)
		}
		return failuref("", "%s: %s", name, plain(err))
	}
	for i, f := range files {
		s, err := stage(filepath.Dir(targets[i].path), f.Text, targets[i])
		if err != nil {
			return undo(err)
		}
		staged = append(staged, s)
	}
	for i, s := range staged {
		if err := os.Rename(s, targets[i].path); err != nil {
			return undo(err)
		}
	}
	return nil
}

// stage writes text to a new file in dir, under a passing name, and leaves nothing behind where that fails.
func stage(dir string, text []byte, t target) (string, error) {
	path := filepath.Join(dir, passing())
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	if err != nil {
		return "", err
	}
	if t.exists {
		err = f.Chmod(t.mode)
	}
	if err == nil {
		err = writeClose(f, text)
	} else {
		f.Close()
	}
	if err != nil {
		os.Remove(path)
		return "", err
	}
	return path, nil
}

func passing() string { return ".gaugewright-" + rand.Text() }

// writeClose writes, and asks whether the bytes have arrived: a full disk may be told of as late as that.
func writeClose(f *os.File, text []byte) error {
	_, err := f.Write(text)
	if err == nil {
		if err = f.Sync(); errors.Is(err, syscall.EINVAL) || errors.Is(err, syscall.ENOTSUP) {
			err = nil // a pipe or a device has no disk to arrive on
		}
	}
	return errors.Join(err, f.Close())
}

// isFolder says whether --out means a folder: one that exists, a name with a closing slash, or a name without an
// extension that is not a file already.
func isFolder(path string) bool {
	if endsInSlash(path) {
		return true
	}
	if info, err := os.Stat(path); err == nil {
		return info.IsDir()
	}
	return filepath.Ext(path) == ""
}

// isFile refuses a folder where one file is written.
func isFile(path, try string) error {
	info, err := os.Stat(path)
	if endsInSlash(path) || err == nil && info.IsDir() {
		return failuref(try, "%s is a folder", path)
	}
	return nil
}

func endsInSlash(path string) bool { return path != "" && os.IsPathSeparator(path[len(path)-1]) }

// plain words an error of the system for a reader who wants to know what to do about it.
func plain(err error) string {
	for _, known := range []struct {
		is   error
		says string
	}{
		{fs.ErrNotExist, "there is no such file"},
		{fs.ErrPermission, "the system does not permit it"},
		{syscall.ENOSPC, "no room left on the disk"},
		{syscall.EROFS, "the disk can only be read"},
		{syscall.EDQUOT, "no room left for you on the disk"},
		{syscall.ENOTDIR, "a part of that path is a file, not a folder"},
		{syscall.EISDIR, "it is a folder"},
		{syscall.ENAMETOOLONG, "the name is too long"},
		{syscall.EPIPE, "nobody reads it any more"},
	} {
		if errors.Is(err, known.is) {
			return known.says
		}
	}
	var at *fs.PathError
	if errors.As(err, &at) {
		return at.Err.Error()
	}
	var link *os.LinkError
	if errors.As(err, &link) {
		return link.Err.Error()
	}
	return err.Error()
}
