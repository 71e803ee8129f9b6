//! Connections: accepting them within bounds, and a clean stop.

use std::io;
use std::net::TcpListener;
use std::sync::Arc;
use std::time::Duration;

use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::server::graceful::GracefulShutdown;
use hyper_util::service::TowerToHyperService;
use tokio::net::TcpStream;
use tokio::sync::Semaphore;

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
    let told_to_stop = told_to_stop()?;
    serve_until(listener, service, told_to_stop).await
}

/// Serves until `told_to_stop` is there, then stops accepting, ends what is running, and returns within about a
/// second.
///
/// # Errors
/// The listener cannot be used.
pub async fn serve_until(
    listener: TcpListener,
    service: Arc<Service>,
    told_to_stop: impl Future<Output = ()>,
) -> io::Result<()> {
    listener.set_nonblocking(true)?;
    let listener = tokio::net::TcpListener::from_std(listener)?;
    let address = listener.local_addr()?;
    tokio::pin!(told_to_stop);
    if !address.ip().is_loopback() {
        tracing::warn!(
            "{address} can be reached from other machines: there are no keys and no encryption, so put a proxy with both in front"
        );
    }
    tracing::info!("listening on http://{address}");

    worker::start(&service);
    let routes = TowerToHyperService::new(router(service.clone()));
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
        let (stream, permit) = tokio::select! {
            (accepted, permit) = accepted => match accepted {
                Ok((stream, _)) => (stream, permit),
                Err(error) => {
                    tracing::warn!(%error, "cannot accept a connection");
                    tokio::time::sleep(ACCEPT_PAUSE).await;
                    continue;
                }
            },
            () = &mut told_to_stop => break,
        };
        let connection = builder.serve_connection(io_of(stream), routes.clone());
        let connection = open.watch(connection);
        tokio::spawn(async move {
            if let Err(error) = connection.await {
                tracing::debug!(%error, "a connection ended early");
            }
            drop(permit);
        });
    }
    drop(listener);
    tracing::info!("stopping");
    service.close();
    if tokio::time::timeout(LAST_ANSWERS, open.shutdown())
        .await
        .is_err()
    {
        tracing::info!("cutting the connections that are left");
    }
    Ok(())
}

fn io_of(stream: TcpStream) -> TokioIo<TcpStream> {
    // Answers are written whole, so waiting to fill a packet would only delay them; refusing that is no failure.
    let _ = stream.set_nodelay(true);
    TokioIo::new(stream)
}

/// Ends at the first SIGTERM or SIGINT.
#[cfg(unix)]
fn told_to_stop() -> io::Result<impl Future<Output = ()>> {
    use tokio::signal::unix::{SignalKind, signal};
    let mut terminate = signal(SignalKind::terminate())?;
    let mut interrupt = signal(SignalKind::interrupt())?;
    Ok(async move {
        tokio::select! {
            _ = terminate.recv() => {}
            _ = interrupt.recv() => {}
        }
    })
}

/// Ends at the first Ctrl-C.
#[cfg(not(unix))]
fn told_to_stop() -> io::Result<impl Future<Output = ()>> {
    Ok(async {
        let _ = tokio::signal::ctrl_c().await;
    })
}
