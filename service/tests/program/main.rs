//! The program as those see it who call it: by command line and, running as a service, over a socket.
//!
//! All stands in one binary, which links once and keeps every core busy until its last test.

#[cfg(unix)]
mod batches;
mod call;
mod compare;
mod folder;
#[cfg(unix)]
mod service;
mod sheets;
mod streams;
mod words;
