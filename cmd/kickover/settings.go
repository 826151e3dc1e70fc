package main

import (
	"context"
	"fmt"
	"io"
	"net/url"
	"os"
	"path/filepath"
	"strings"

	"github.com/adrg/xdg"
	"github.com/spf13/pflag"

	"kickover/audio"
	"kickover/procedure/record"
	"kickover/procedure/settings"
	"kickover/procedure/settings/settingsfile"
	"kickover/ui"
	settingsui "kickover/ui/settings"
)

// preferences are what the person has chosen, read once before any command runs.
var preferences *settingsfile.File

// settingsPath is where the person's settings are kept.
func settingsPath() string { return filepath.Join(xdg.ConfigHome, "kickover", "settings.yaml") }

// dataVariable moves every folder of data of the program, and of no other one: it
// is set for this process only.
const dataVariable = "XDG_DATA_HOME"

// settle reads the settings before anything is opened, and brings the runs to the
// folder that was chosen for them. What cannot be done is said, and the program
// goes on with what there is.
func settle(errOut io.Writer) *settingsfile.File {
	file := settingsfile.Open(settingsPath())
	for _, n := range file.Notices() {
		fmt.Fprintln(errOut, "kickover:", n)
	}
	s := file.Settings()
	if s.Data == "" {
		return file
	}
	if s.Moved != "" {
		if err := bring(s.Moved, filepath.Join(s.Data, "kickover")); err != nil {
			fmt.Fprintf(errOut, "kickover: the runs could not be brought to %s and are used where they were, in %s: %v. It is tried again at the next start; look at the folder's rights and the disk's space.\n", s.Data, s.Moved, err)
			useData(filepath.Dir(s.Moved))
			return file
		}
		if err := file.Change(func(c *settings.Settings) { c.Moved = "" }); err != nil {
			fmt.Fprintln(errOut, "kickover:", err)
		}
	}
	useData(s.Data)
	return file
}

// useData has all of the program's data found in a folder.
func useData(folder string) {
	os.Setenv(dataVariable, folder)
	xdg.Reload()
}

// bring copies a folder to a place where there is none yet: beside it first, so
// that what stands there is whole. The old one is left.
func bring(from, to string) error {
	if _, err := os.Stat(to); err == nil {
		return nil // brought already, or somebody's own that was there
	}
	if _, err := os.Stat(from); os.IsNotExist(err) {
		return os.MkdirAll(to, 0o700)
	}
	if err := os.MkdirAll(filepath.Dir(to), 0o700); err != nil {
		return err
	}
	half, err := os.MkdirTemp(filepath.Dir(to), ".kickover-coming-*")
	if err != nil {
		return err
	}
	defer os.RemoveAll(half) // gone already when all went well
	if err := os.CopyFS(half, os.DirFS(from)); err != nil {
		return err
	}
	return os.Rename(half, to)
}

// folderFor is where somebody's folder is, or why runs cannot be kept there.
func folderFor(folder string) (string, error) {
	if rest, ok := strings.CutPrefix(folder, "~"); ok && (rest == "" || rest[0] == filepath.Separator) {
		folder = filepath.Join(xdg.Home, rest)
	}
	if !filepath.IsAbs(folder) {
		return "", fmt.Errorf("%q does not begin at the root; write the folder out in full", folder)
	}
	if within, err := filepath.Rel(userFolder(), folder); err == nil && filepath.IsLocal(within) {
		return "", fmt.Errorf("%s lies in the folder that is to be moved; choose one outside it", folder)
	}
	if err := os.MkdirAll(folder, 0o700); err != nil {
		return "", err
	}
	probe, err := os.CreateTemp(folder, ".kickover-*")
	if err != nil {
		return "", err
	}
	probe.Close()
	return folder, os.Remove(probe.Name())
}

// chosen is what the window needs of the settings.
func (d *desk) chosen() ui.Settings {
	file := d.settings
	return ui.Settings{
		Now: file.Settings, First: file.New() && file.Settings().Who == "", File: file.Path(), Folder: userFolder(), Notices: file.Notices(),
		Change: func(change func(*settings.Settings)) error {
			before := file.Settings().Sound
			err := file.Change(change)
			if now := file.Settings().Sound; now != before {
				d.hear(before, now)
			}
			return err
		},
		Sound: settingsui.Sound{
			Voices: voices(d.sound.player), Devices: devices,
			Tone: d.sound.player.TestTone, Speak: d.sound.player.SpeakTest,
			Trouble: func() string { return d.sound.player.Status().Text },
		},
		CheckFolder: folderFor, CheckStore: askStore,
	}
}

// hear makes the sound as it was chosen.
func (d *desk) hear(before, now settings.Sound) {
	p := d.sound.player
	p.SetLevels(levels(now))
	if now.Device != before.Device {
		p.UseDevice(now.Device)
	}
	if now.Voice != before.Voice {
		if err := p.SetVoice(now.Voice); err == nil {
			go d.prepare() // its lines, before they are due
		}
	}
}

func levels(s settings.Sound) audio.Levels {
	part := func(percent int) float64 { return float64(percent) / 100 }
	return audio.Levels{Volume: part(s.Volume), Voice: part(s.VoiceLevel), Engine: part(s.EngineLevel), Muted: s.Muted}
}

func voices(p *audio.Player) []settingsui.Named {
	var out []settingsui.Named
	for _, v := range p.Voices() {
		out = append(out, settingsui.Named{ID: v.ID, Name: v.Name})
	}
	return out
}

func devices() []settingsui.Named {
	var out []settingsui.Named
	for _, d := range audio.Devices() {
		out = append(out, settingsui.Named{ID: d.ID, Name: d.Name})
	}
	return out
}

// askStore asks a school's store whether runs can be kept there.
func askStore(ctx context.Context, dsn string) error {
	if !strings.HasPrefix(dsn, "postgres://") && !strings.HasPrefix(dsn, "postgresql://") {
		return fmt.Errorf("%q is no address of a PostgreSQL; it begins with postgres://", dsn)
	}
	done := make(chan error, 1)
	go func() {
		store, err := record.Open(dsn)
		if err == nil {
			err = store.Close()
		}
		done <- err
	}()
	select {
	case err := <-done:
		return err
	case <-ctx.Done():
		return ctx.Err()
	}
}

// storeName is where runs are kept unless a flag says otherwise: the school's
// store that was chosen, or a file of one's own.
func storeName() string {
	if preferences != nil && preferences.Settings().Store != "" {
		return preferences.Settings().Store
	}
	return record.DefaultPath()
}

// storeFlag lets a command be told where runs are kept. Its help shows what holds
// otherwise, without a password that somebody chose to keep in the settings.
func storeFlag(fs *pflag.FlagSet, path *string) {
	fs.StringVar(path, "store", storeName(), "where runs are kept: a file, or a PostgreSQL URL")
	if u, err := url.Parse(storeName()); err == nil && record.IsDSN(storeName()) {
		fs.Lookup("store").DefValue = u.Redacted()
	}
}
