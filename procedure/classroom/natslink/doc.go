// Package natslink carries a class over the network: an embedded NATS server
// with JetStream in the instructor's program, and its client on the stations.
//
// The instructor's program calls [Open] when a class opens; a station's calls
// [Dial]. Both satisfy the small interfaces of package classroom. With a [School]
// the class is carried by a school's own servers instead. [Announce] and [Look]
// spare students the typing of an address where the network allows it.
//
// Promises:
//
//   - TLS 1.3 before the first byte; a station trusts one certificate, by its
//     fingerprint or check words, and no authority.
//   - A station can publish under its own name only and read its own messages,
//     what is said to all, and answers to its own questions.
//   - Nothing listens but the one address that was chosen, and only while the
//     class is open. The server's diagnostic pages, which its import registers
//     on http.DefaultServeMux, are served by nobody here: never serve that mux.
//   - A station that floods, writes where it may not or sends what is too large
//     is cut off, and the host is told.
package natslink
