package natslink

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"

	"kickover/procedure/classroom"
)

// hub is what the instructor's end does with either engine: its own server, or
// a school's cluster.
type hub struct {
	id     string // of the class
	class  string // in subjects: the id, or so much of it as a school's need
	host   classroom.Host
	heard  func(s classroom.StationID, bytes int) bool // of each message; false ignores it
	nc     *nats.Conn
	js     jetstream.JetStream
	events jetstream.ConsumeContext
	parcel chan jetstream.Msg
	stop   chan struct{}
	done   sync.WaitGroup
}

func newHub(id, class string, host classroom.Host) hub {
	return hub{id: id, class: class, host: host, heard: func(classroom.StationID, int) bool { return true },
		parcel: make(chan jetstream.Msg, deliverAtOnce), stop: make(chan struct{})}
}

// attach begins to take what stations send over the hub's connection.
func (h *hub) attach(nc *nats.Conn, replicas int) error {
	h.nc = nc
	_, e1 := nc.Subscribe(prefix+h.class+live+"*", func(m *nats.Msg) {
		if s := sender(m.Subject); h.heard(s, len(m.Data)) {
			h.host.Live(s, m.Data)
		}
	})
	_, e2 := nc.Subscribe(prefix+h.class+ask+"*", func(m *nats.Msg) {
		if s := sender(m.Subject); h.heard(s, len(m.Data)) {
			_ = m.Respond(h.host.Ask(s, m.Data)) // asked again when it does not come
		}
	})
	if err := errors.Join(e1, e2, nc.Flush()); err != nil {
		return fmt.Errorf("the class cannot be opened: %w", err)
	}
	return h.consume(replicas)
}

func jetStream(nc *nats.Conn) (jetstream.JetStream, error) {
	js, err := jetstream.New(nc)
	if err != nil {
		return nil, fmt.Errorf("the class's spool cannot be used: %w", err)
	}
	return js, nil
}

// consume makes the stream and its one consumer, and begins to take from it.
func (h *hub) consume(replicas int) error {
	var err error
	if h.js, err = jetStream(h.nc); err != nil {
		return err
	}
	ctx, stop := context.WithTimeout(context.Background(), readyWait)
	defer stop()
	stream, err := h.js.CreateOrUpdateStream(ctx, jetstream.StreamConfig{
		Name: streamName + h.class, Description: h.id, Subjects: []string{prefix + h.class + events + "*"},
		// What the store has is dropped from the spool; what does not fit is
		// refused, and the station keeps it.
		Retention: jetstream.WorkQueuePolicy, Discard: jetstream.DiscardNew,
		MaxBytes: spoolLimit, MaxAge: spoolAge, MaxMsgSize: maxPayload, Storage: jetstream.FileStorage, Replicas: replicas,
	})
	if err != nil {
		return fmt.Errorf("the class's spool cannot be used: %w", err)
	}
	c, err := stream.CreateOrUpdateConsumer(ctx, jetstream.ConsumerConfig{
		Durable: consumer, AckPolicy: jetstream.AckExplicitPolicy, AckWait: redeliver, MaxAckPending: 4 * deliverAtOnce,
	})
	if err != nil {
		return fmt.Errorf("the class's spool cannot be used: %w", err)
	}
	h.events, err = c.Consume(func(m jetstream.Msg) {
		select {
		case h.parcel <- m:
		case <-h.stop:
		}
	}, jetstream.PullMaxMessages(2*deliverAtOnce))
	if err != nil {
		return fmt.Errorf("the class's spool cannot be used: %w", err)
	}
	h.done.Go(h.deliver)
	return nil
}

// deliver gives the host what has come since it last took something, all at
// once: its store then flushes once for many stations.
func (h *hub) deliver() {
	var pending []jetstream.Msg
	var parcels []classroom.Parcel
	take := func(m jetstream.Msg) {
		s := sender(m.Subject())
		if !h.heard(s, len(m.Data())) {
			_ = m.Ack() // of one that was cut off
			return
		}
		pending = append(pending, m)
		parcels = append(parcels, classroom.Parcel{Station: s, Data: m.Data()})
	}
	for {
		pending, parcels = pending[:0], parcels[:0]
		select {
		case m := <-h.parcel:
			take(m)
		case <-h.stop:
			return
		}
		for more := true; more && len(pending) < deliverAtOnce; {
			select {
			case m := <-h.parcel:
				take(m)
			default:
				more = false
			}
		}
		if len(parcels) == 0 {
			continue
		}
		err := h.host.Deliver(parcels)
		for _, m := range pending {
			if err != nil {
				_ = m.NakWithDelay(time.Second) // comes again by itself, and from the station
			} else {
				_ = m.Ack()
			}
		}
	}
}

// Broadcast implements classroom.Room.
func (h *hub) Broadcast(data []byte) error {
	return errors.Join(h.nc.Publish(allOf(h.class), data), h.nc.FlushTimeout(time.Second))
}

// Send implements classroom.Room.
func (h *hub) Send(s classroom.StationID, data []byte) error {
	return h.nc.Publish(toOf(h.class, s), data)
}

// leave ends the hub's part; what is in the spool stays there.
func (h *hub) leave() {
	close(h.stop)
	if h.events != nil {
		h.events.Stop()
	}
	if h.nc != nil {
		h.nc.Close()
	}
	h.done.Wait()
}
