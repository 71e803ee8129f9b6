//! Connections within bounds: so many in all, so many of one address, none that takes for ever over its handshake or reads nothing.

use std::collections::HashMap;
use std::io;
use std::net::{IpAddr, Ipv6Addr, SocketAddr};
use std::pin::Pin;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use socket2::{SockRef, TcpKeepalive};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::{OwnedSemaphorePermit, Semaphore};
use tokio_io_timeout::TimeoutStream;

/// The pause after a connection could not be accepted, as where the system has no file handle left.
const ACCEPT_PAUSE: Duration = Duration::from_millis(100);
/// How long the other side may say nothing at all before it is asked whether it is still there, and how often.
const ASKED_AFTER: Duration = Duration::from_secs(60);
const ASKED_EVERY: Duration = Duration::from_secs(10);
/// How long it may leave unanswered what was sent to it.
#[cfg(target_os = "linux")]
const UNANSWERED: Duration = Duration::from_secs(90);

/// How many connections there may be.
pub(super) struct Connections {
    free: Arc<Semaphore>,
    each: usize,
    of: Arc<Mutex<HashMap<IpAddr, usize>>>,
    refused: AtomicU64,
}

/// A connection's place among them, for as long as this lives.
pub(super) struct Held {
    _permit: OwnedSemaphorePermit,
    address: IpAddr,
    of: Arc<Mutex<HashMap<IpAddr, usize>>>,
}

/// A connection on which writing fails once nothing of it has been taken for some time.
pub(super) type Stream = Pin<Box<TimeoutStream<TcpStream>>>;

impl Connections {
    pub(super) fn new(most: usize, each: usize) -> Connections {
        Connections {
            free: Arc::new(Semaphore::new(most)),
            each,
            of: Arc::default(),
            refused: AtomicU64::new(0),
        }
    }

    /// The next connection; where all places are taken, others wait in the system's own queue. One of an address that has as many as it may
    /// have is closed.
    pub(super) async fn next(&self, listener: &TcpListener) -> (TcpStream, SocketAddr, Held) {
        loop {
            // The semaphore is never closed, so there is always a permit to wait for.
            let Ok(permit) = self.free.clone().acquire_owned().await else {
                std::future::pending().await
            };
            let (stream, peer) = match listener.accept().await {
                Ok(accepted) => accepted,
                Err(error) => {
                    tracing::warn!(%error, "cannot accept a connection");
                    tokio::time::sleep(ACCEPT_PAUSE).await;
                    continue;
                }
            };
            match self.hold(peer.ip(), permit) {
                Some(held) => return (stream, peer, held),
                None => {
                    self.refused.fetch_add(1, Ordering::Relaxed);
                    tracing::debug!(%peer, "this address has too many connections");
                }
            }
        }
    }

    fn hold(&self, address: IpAddr, permit: OwnedSemaphorePermit) -> Option<Held> {
        let address = counted_as(address);
        let mut of = locked(&self.of);
        let count = of.entry(address).or_default();
        if *count >= self.each {
            return None;
        }
        *count += 1;
        Some(Held {
            _permit: permit,
            address,
            of: self.of.clone(),
        })
    }

    /// Connections that are open, and how many have been refused.
    pub(super) fn load(&self) -> (usize, u64) {
        let open = locked(&self.of).values().sum();
        (open, self.refused.load(Ordering::Relaxed))
    }
}

impl Drop for Held {
    fn drop(&mut self) {
        let mut of = locked(&self.of);
        if let Some(count) = of.get_mut(&self.address) {
            *count -= 1;
            if *count == 0 {
                of.remove(&self.address);
            }
        }
    }
}

fn locked(of: &Mutex<HashMap<IpAddr, usize>>) -> MutexGuard<'_, HashMap<IpAddr, usize>> {
    of.lock().unwrap_or_else(PoisonError::into_inner)
}

/// One customer's network counts as one address: of IPv6 that is the first half (common practice; RFC 6177 gives a site no less).
fn counted_as(address: IpAddr) -> IpAddr {
    match address.to_canonical() {
        IpAddr::V6(address) => {
            let network = u128::from(address) & (u128::MAX << 64);
            IpAddr::V6(Ipv6Addr::from(network))
        }
        address => address,
    }
}

/// Makes a connection one that ends when the other side is gone or reads nothing for so long.
pub(super) fn watched(stream: TcpStream, write_time: Duration) -> Stream {
    if let Err(error) = prepare(&stream) {
        tracing::debug!(%error, "a connection could not be prepared");
    }
    let mut stream = TimeoutStream::new(stream);
    stream.set_write_timeout(Some(write_time));
    Box::pin(stream)
}

fn prepare(stream: &TcpStream) -> io::Result<()> {
    // Answers are written whole, so waiting to fill a packet would only delay them.
    stream.set_nodelay(true)?;
    let socket = SockRef::from(stream);
    let asked = TcpKeepalive::new()
        .with_time(ASKED_AFTER)
        .with_interval(ASKED_EVERY);
    socket.set_tcp_keepalive(&asked)?;
    #[cfg(target_os = "linux")]
    socket.set_tcp_user_timeout(Some(UNANSWERED))?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_network_of_ipv6_counts_as_one_address() {
        let counted = |text: &str| counted_as(text.parse().expect("an address")).to_string();
        assert_eq!(counted("192.0.2.7"), "192.0.2.7");
        assert_eq!(counted("::ffff:192.0.2.7"), "192.0.2.7");
        assert_eq!(counted("2001:db8:1:2:3:4:5:6"), "2001:db8:1:2::");
        assert_eq!(counted("2001:db8:1:2::9"), "2001:db8:1:2::");
    }

    #[tokio::test]
    async fn an_address_has_no_more_than_its_share() {
        let connections = Connections::new(4, 2);
        let hold = |address: &str| {
            let permit = connections.free.clone().try_acquire_owned();
            let permit = permit.expect("a permit");
            connections.hold(address.parse().expect("an address"), permit)
        };
        let first = hold("192.0.2.1").expect("the first");
        let _second = hold("192.0.2.1").expect("the second");
        assert!(hold("192.0.2.1").is_none());
        let _other = hold("192.0.2.2").expect("another's");
        drop(first);
        assert!(hold("192.0.2.1").is_some());
    }
}
