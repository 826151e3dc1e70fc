package classroom

import (
	"encoding/json"
	"fmt"
	"time"

	"kickover/procedure"
)

// CalledAloud is a drill with one machine as it was kept.
type CalledAloud struct {
	Aircraft procedure.AircraftID
	Flow     procedure.FlowID
	Begun    time.Time
	Taps     []TapAt // since it began
}

// CalledAloud lists the drills with one machine that were kept, oldest first.
func (b *Book) CalledAloud() ([]CalledAloud, error) {
	rows, err := b.db.Query("SELECT aircraft, flow, begun, taps FROM aloud ORDER BY begun")
	if err != nil {
		return nil, fmt.Errorf("what was called aloud cannot be read: %w", err)
	}
	defer rows.Close()
	var out []CalledAloud
	for rows.Next() {
		var c CalledAloud
		var begun int64
		var taps []byte
		if err := rows.Scan(&c.Aircraft, &c.Flow, &begun, &taps); err != nil {
			return nil, fmt.Errorf("what was called aloud cannot be read: %w", err)
		}
		if err := json.Unmarshal(taps, &c.Taps); err != nil {
			return nil, fmt.Errorf("what was called aloud is damaged: %w", err)
		}
		c.Begun = time.Unix(0, begun)
		out = append(out, c)
	}
	return out, rows.Err()
}

// Again is the drill with what was tapped, as far as the flow has those steps.
func (c CalledAloud) Again(f *procedure.Flow) *Aloud {
	a := NewAloud(f, 0)
	for _, t := range c.Taps {
		if t.Step >= 0 && t.Step < len(f.Steps) {
			a.taps = append(a.taps, t)
		}
	}
	return a
}

// sinceBegun are the taps with their times since the drill began.
func (a *Aloud) sinceBegun() []TapAt {
	out := a.Taps()
	for i := range out {
		out[i].At -= a.begun
	}
	return out
}
