package settings

import (
	"errors"
	"fmt"
	"strings"

	"github.com/goccy/go-yaml"
)

// heading stands above a new file.
const heading = " Kickover's settings. They are changed in the window, or here while it is closed.\n" +
	" What is not understood is left alone."

// ErrDamaged is a file that holds no settings at all.
var ErrDamaged = errors.New("it is not a settings file")

// Decode reads a file. It gives a sentence for each value that is not understood;
// that one's default stands. An error is [ErrDamaged], and then all defaults do.
func Decode(file []byte) (s Settings, notes []string, err error) {
	s = Default()
	top, _, err := parse(file)
	if err != nil {
		return s, nil, err
	}
	for _, k := range keys {
		group, ok := top, true
		if k.group != "" {
			var v any
			if v, ok = lookUp(top, k.group); !ok {
				continue
			}
			if group, ok = v.(yaml.MapSlice); !ok {
				if v != nil && !noted(notes, k.group) {
					notes = append(notes, fmt.Sprintf("settings: %s: expected keys under it, found %v; the defaults are used", k.group, v))
				}
				continue
			}
		}
		v, ok := lookUp(group, k.name)
		if !ok || v == nil {
			continue
		}
		if expected, ok := k.read(&s, v); !ok {
			notes = append(notes, fmt.Sprintf("settings: %s: expected %s, found %v; the default is used", k.path(), expected, v))
		}
	}
	return s, notes, nil
}

func noted(notes []string, group string) bool {
	for _, n := range notes {
		if strings.HasPrefix(n, "settings: "+group+":") {
			return true
		}
	}
	return false
}

func (k key) path() string {
	if k.group == "" {
		return k.name
	}
	return k.group + "." + k.name
}

// Encode writes settings into the file that was read, so that what else stands in
// it stays. Kept is false where that cannot be done, since the file is damaged or
// new: then the file is written anew.
func Encode(s Settings, before []byte) (file []byte, kept bool, err error) {
	if top, comments, err := parse(before); err == nil && len(top) > 0 {
		out, err := render(s, top, comments)
		// The proof of a file is in the reading.
		if got, notes, rerr := Decode(out); err == nil && rerr == nil && got == s && len(notes) == 0 {
			return out, true, nil
		}
	}
	file, err = render(s, nil, yaml.CommentMap{"$.version": {yaml.HeadComment(strings.Split(heading, "\n")...)}})
	return file, false, err
}

func render(s Settings, top yaml.MapSlice, comments yaml.CommentMap) (out []byte, err error) {
	defer recovered(&err)
	for _, k := range keys {
		v := k.write(s)
		if k.group == "" {
			top = with(top, k.name, v)
			continue
		}
		inner, _ := lookUp(top, k.group)
		group, _ := inner.(yaml.MapSlice)
		top = with(top, k.group, with(group, k.name, v))
	}
	return yaml.MarshalWithOptions(top, yaml.WithComment(comments))
}

// recovered makes an error of a panic: neither a reader nor a writer of other
// people's bytes may bring the window down.
func recovered(err *error) {
	if r := recover(); r != nil {
		*err = fmt.Errorf("%w: %v", ErrDamaged, r)
	}
}

// parse reads a file as keys in their order, with its comments.
func parse(file []byte) (top yaml.MapSlice, comments yaml.CommentMap, err error) {
	defer recovered(&err)
	comments = yaml.CommentMap{}
	if err := yaml.UnmarshalWithOptions(file, &top, yaml.UseOrderedMap(), yaml.CommentToMap(comments)); err != nil {
		return nil, nil, fmt.Errorf("%w: %s", ErrDamaged, yaml.FormatError(err, false, false))
	}
	return top, comments, nil
}

func lookUp(m yaml.MapSlice, name string) (any, bool) {
	for _, item := range m {
		if item.Key == name {
			return item.Value, true
		}
	}
	return nil, false
}

// with is a copy in which a key has a value.
func with(m yaml.MapSlice, name string, v any) yaml.MapSlice {
	out := append(yaml.MapSlice(nil), m...)
	for i := range out {
		if out[i].Key == name {
			out[i].Value = v
			return out
		}
	}
	return append(out, yaml.MapItem{Key: name, Value: v})
}
