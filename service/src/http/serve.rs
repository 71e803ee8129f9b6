//! Connections are accepted and answered until the service is told to stop, and then it stops cleanly.

use std::io;
use std::net::{SocketAddr, TcpListener};
use std::sync::Arc;
use std::time::Duration;

use axum::Router;
use hyper::Request;
use hyper::body::Incoming;
use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::server::graceful::{GracefulShutdown, Watcher};
use hyper_util::service::TowerToHyperService;
use tokio::io::{AsyncRead, AsyncWrite};
use tower::ServiceExt;

use super::client::Client;
use super::connections::{Stream, watched};
use super::signals::{Stops, at_each_hangup};
use super::tls::Tls;
use super::{Service, router, worker};

/// How long it may take to agree on how to encrypt.
const HANDSHAKE_TIME: Duration = Duration::from_secs(10);
/// What the head of a request may have, in bytes; one that is much longer is answered with 431 or 414 (RFC 6585, RFC 9110).
const LARGEST_HEAD: usize = 64 << 10;
/// How long requests that are running get for their last answer once the service stops.
const LAST_ANSWERS: Duration = Duration::from_secs(1);

/// Where connections come from.
pub struct Door {
    /// The socket.
    pub listener: TcpListener,
    /// What they are encrypted with, if they are.
    pub tls: Option<Arc<Tls>>,
}

/// Serves until SIGTERM or SIGINT, and calls `reread` at each SIGHUP; see [`serve_until`].
///
/// # Errors
/// The listener or the signals cannot be used.
pub async fn serve(
    door: Door,
    service: Arc<Service>,
    reread: impl Fn() + Send + Sync + 'static,
) -> io::Result<()> {
    let (first, again) = (Stops::new()?, Stops::new()?);
    at_each_hangup(reread)?;
    // Both hear every signal: the second call is the one after the first.
    let again = async move {
        again.count(2).await;
    };
    serve_until(door, service, first.count(1), again).await
}

/// Serves until `told_to_stop` is there, then stops accepting and lets what is running finish for as long as the settings say, or until
/// `told_again` is there; then it ends what is left, and returns within about a second.
///
/// # Errors
/// The listener cannot be used.
pub async fn serve_until(
    door: Door,
    service: Arc<Service>,
    told_to_stop: impl Future<Output = ()>,
    told_again: impl Future<Output = ()>,
) -> io::Result<()> {
    door.listener.set_nonblocking(true)?;
    let listener = tokio::net::TcpListener::from_std(door.listener)?;
    announce(listener.local_addr()?, door.tls.is_some());
    tokio::pin!(told_to_stop);
    worker::start(&service);
    let routes = router(service.clone());
    let open = GracefulShutdown::new();
    loop {
        let (stream, peer, held) = tokio::select! {
            next = service.connections.next(&listener) => next,
            () = &mut told_to_stop => break,
        };
        let (routes, service) = (routes.clone(), service.clone());
        let (tls, watcher) = (door.tls.clone(), open.watcher());
        tokio::spawn(async move {
            let stream = watched(stream, service.settings.write_time);
            converse(&service, tls, stream, peer, routes, watcher).await;
            drop(held);
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

/// Tells where the service is, and what to think of.
fn announce(address: SocketAddr, encrypted: bool) {
    if !address.ip().is_loopback() && !encrypted {
        tracing::warn!(
            "{address} can be reached from other machines: only those with a key are answered, but nothing is encrypted, so give --certificate and --private-key, or put a proxy with TLS in front"
        );
    }
    let scheme = if encrypted { "https" } else { "http" };
    tracing::info!("listening on {scheme}://{address}");
}

/// Agrees on the encryption, where there is any, and answers what comes through a connection until it ends.
async fn converse(
    service: &Service,
    tls: Option<Arc<Tls>>,
    stream: Stream,
    peer: SocketAddr,
    routes: Router,
    watcher: Watcher,
) {
    let Some(tls) = tls else {
        return answer(service, stream, peer, routes, watcher).await;
    };
    let agreed = tokio::time::timeout(HANDSHAKE_TIME, tls.acceptor().accept(stream));
    let agreed = tokio::select! {
        agreed = agreed => agreed,
        () = service.draining() => return,
    };
    match agreed {
        Ok(Ok(stream)) => answer(service, stream, peer, routes, watcher).await,
        Ok(Err(error)) => tracing::debug!(%error, %peer, "no encryption was agreed on"),
        Err(_) => tracing::debug!(%peer, "agreeing on an encryption took too long"),
    }
}

/// Answers what comes through a connection until it ends.
async fn answer(
    service: &Service,
    stream: impl AsyncRead + AsyncWrite + Unpin + Send + 'static,
    peer: SocketAddr,
    routes: Router,
    watcher: Watcher,
) {
    // Without keys whoever has the same address is one client.
    let client = Client(peer.ip().to_string().into());
    let routes = routes.map_request(move |mut request: Request<Incoming>| {
        request.extensions_mut().insert(client.clone());
        request
    });
    let connection = http1::Builder::new()
        .timer(TokioTimer::new())
        .header_read_timeout(service.settings.head_time)
        .max_buf_size(LARGEST_HEAD)
        .serve_connection(TokioIo::new(stream), TowerToHyperService::new(routes));
    if let Err(error) = watcher.watch(connection).await {
        tracing::debug!(%error, "a connection ended early");
    }
}
