//! Connections: accepting them within bounds, and a clean stop.

use std::io;
use std::net::TcpListener;
use std::sync::Arc;
use std::time::Duration;

use hyper::Request;
use hyper::body::Incoming;
use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::server::graceful::GracefulShutdown;
use hyper_util::service::TowerToHyperService;
use tokio::net::TcpStream;
use tokio::sync::Semaphore;
use tower::ServiceExt;

use super::client::Client;
use super::{Service, router, worker};

/// Connections held at once; more wait in the system's own queue.
const CONNECTIONS: usize = 1024;
/// How long a connection may take over the head of a request, or lie idle between two.
const HEAD_TIME: Duration = Duration::from_secs(30);
/// The pause after a connection could not be accepted, as where the system has no file handle left.
const ACCEPT_PAUSE: Duration = Duration::from_millis(100);
/// How long requests that are running get for their last answer once the service stops.
const LAST_ANSWERS: Duration = Duration::from_secs(1);

/// Serves until SIGTERM or SIGINT; see [`serve_until`].
///
/// # Errors
/// The listener or the signals cannot be used.
pub async fn serve(listener: TcpListener, service: Arc<Service>) -> io::Result<()> {
    let (first, again) = (told_to_stop()?, told_to_stop()?);
    // Both hear every signal: the second call is the one after the first.
    let again = async move {
        again.count(2).await;
    };
    serve_until(listener, service, first.count(1), again).await
}

/// Serves until `told_to_stop` is there, then stops accepting and lets what is running finish for as long as the settings say, or until
/// `told_again` is there; then it ends what is left, and returns within about a second.
///
/// # Errors
/// The listener cannot be used.
pub async fn serve_until(
    listener: TcpListener,
    service: Arc<Service>,
    told_to_stop: impl Future<Output = ()>,
    told_again: impl Future<Output = ()>,
) -> io::Result<()> {
    listener.set_nonblocking(true)?;
    let listener = tokio::net::TcpListener::from_std(listener)?;
    let address = listener.local_addr()?;
    tokio::pin!(told_to_stop);
    if !address.ip().is_loopback() {
        tracing::warn!(
            "{address} can be reached from other machines: only those with a key are answered, but nothing is encrypted, so put a proxy with TLS in front"
        );
    }
    tracing::info!("listening on http://{address}");

    worker::start(&service);
    let routes = router(service.clone());
    let mut builder = http1::Builder::new();
    builder
        .timer(TokioTimer::new())
        .header_read_timeout(HEAD_TIME);
    let open = GracefulShutdown::new();
    let free = Arc::new(Semaphore::new(CONNECTIONS));
    loop {
        let accepted = async {
            // The semaphore is never closed, so there is always a permit to wait for.
            let permit = free.clone().acquire_owned().await;
            (listener.accept().await, permit)
        };
        let (stream, peer, permit) = tokio::select! {
            (accepted, permit) = accepted => match accepted {
                Ok((stream, peer)) => (stream, peer, permit),
                Err(error) => {
                    tracing::warn!(%error, "cannot accept a connection");
                    tokio::time::sleep(ACCEPT_PAUSE).await;
                    continue;
                }
            },
            () = &mut told_to_stop => break,
        };
        // Without keys whoever has the same address is one client.
        let client = Client(peer.ip().to_string().into());
        let routes = routes
            .clone()
            .map_request(move |mut request: Request<Incoming>| {
                request.extensions_mut().insert(client.clone());
                request
            });
        let routes = TowerToHyperService::new(routes);
        let connection = builder.serve_connection(io_of(stream), routes);
        let connection = open.watch(connection);
        tokio::spawn(async move {
            if let Err(error) = connection.await {
                tracing::debug!(%error, "a connection ended early");
            }
            drop(permit);
        });
    }
    drop(listener);
    tracing::info!("stopping: nothing new is taken up");
    service.drain();
    let drain = service.settings.drain;
    // From here on connections end with the request that they are at.
    let ended = open.shutdown();
    tokio::pin!(ended);
    tokio::select! {
        () = &mut ended => {
            service.close();
            return Ok(());
        }
        () = service.course.no_requests() => {}
        () = tokio::time::sleep(drain) => tracing::info!("ending the requests that are left"),
        () = told_again => tracing::info!("told again: ending the requests that are left"),
    }
    service.close();
    if tokio::time::timeout(LAST_ANSWERS, ended).await.is_err() {
        tracing::info!("cutting the connections that are left");
    }
    Ok(())
}

fn io_of(stream: TcpStream) -> TokioIo<TcpStream> {
    // Answers are written whole, so waiting to fill a packet would only delay them; refusing that is no failure.
    let _ = stream.set_nodelay(true);
    TokioIo::new(stream)
}

/// SIGTERM and SIGINT, as they come.
#[cfg(unix)]
struct Signals(tokio::signal::unix::Signal, tokio::signal::unix::Signal);

#[cfg(unix)]
impl Signals {
    /// Ends at the signal of that number, counted from 1.
    async fn count(mut self, number: usize) {
        for _ in 0..number {
            tokio::select! {
                _ = self.0.recv() => {}
                _ = self.1.recv() => {}
            }
        }
    }
}

#[cfg(unix)]
fn told_to_stop() -> io::Result<Signals> {
    use tokio::signal::unix::{SignalKind, signal};
    Ok(Signals(
        signal(SignalKind::terminate())?,
        signal(SignalKind::interrupt())?,
    ))
}

/// Ctrl-C, each time that it is pressed.
#[cfg(not(unix))]
struct Signals;

#[cfg(not(unix))]
impl Signals {
    /// Ends when it is pressed for that time, counted from 1.
    async fn count(self, number: usize) {
        for _ in 0..number {
            let _ = tokio::signal::ctrl_c().await;
        }
    }
}

#[cfg(not(unix))]
fn told_to_stop() -> io::Result<Signals> {
    Ok(Signals)
}
