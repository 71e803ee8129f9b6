//! The service on a real socket, where a client that goes away is a connection that closes.

use std::net::{SocketAddr, TcpListener};
use std::sync::Arc;
use std::time::{Duration, Instant};

use axum::http::StatusCode;
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::TcpStream;
use tokio::sync::oneshot;
use tokio::task::JoinHandle;

use super::slow::{hear, one_at_once, slow, until_load};
use super::{ask, get, service};
use crate::http::{Door, Service, Tls, router, serve_until};
use crate::text::tests::scenario_json;

pub(super) struct Running {
    pub(super) address: SocketAddr,
    pub(super) stop: oneshot::Sender<()>,
    pub(super) served: JoinHandle<std::io::Result<()>>,
}

impl Running {
    /// Stops the service, and waits for its end.
    pub(super) async fn end(self) {
        let _ = self.stop.send(());
        self.served.await.expect("no panic").expect("served");
    }
}

fn start(service: Arc<Service>) -> Running {
    start_with(service, None)
}

/// A service on a free port, encrypted where there is something to do it with.
pub(super) fn start_with(service: Arc<Service>, tls: Option<Arc<Tls>>) -> Running {
    let listener = TcpListener::bind("127.0.0.1:0").expect("a free port");
    let address = listener.local_addr().expect("its address");
    let (stop, stopped) = oneshot::channel::<()>();
    let told = async {
        let _ = stopped.await;
    };
    let never = std::future::pending();
    let door = Door { listener, tls };
    let served = tokio::spawn(serve_until(door, service, told, never));
    Running {
        address,
        stop,
        served,
    }
}

pub(super) async fn send_scenario(address: SocketAddr) -> TcpStream {
    let mut stream = TcpStream::connect(address).await.expect("a connection");
    let body = scenario_json().to_string();
    let head = format!(
        "POST /v1/plans HTTP/1.1\r\nHost: trial\r\nContent-Type: application/json\r\nContent-Length: {}\r\n\r\n",
        body.len()
    );
    let request = head + &body;
    stream.write_all(request.as_bytes()).await.expect("sent");
    stream
}

#[tokio::test]
async fn a_connection_that_closes_stops_its_solve() {
    let (planner, slow) = slow();
    let service = service(planner, one_at_once(0)).0;
    let running = start(service.clone());
    let stream = send_scenario(running.address).await;
    hear(&slow.begun).await;
    drop(stream);
    assert!(
        hear(&slow.ended_by_stop).await,
        "the solve was told to stop"
    );
    until_load(&service, (0, 0)).await;
    let health = ask(&router(service), get("/v1/health")).await;
    assert_eq!(health.status, StatusCode::OK);
    running.end().await;
}

#[tokio::test]
async fn a_stop_answers_the_running_solve_with_503() {
    let (planner, slow) = slow();
    let running = start(service(planner, one_at_once(0)).0);
    let mut stream = send_scenario(running.address).await;
    hear(&slow.begun).await;
    let begun = Instant::now();
    let _ = running.stop.send(());
    let mut answer = String::new();
    stream.read_to_string(&mut answer).await.expect("an answer");
    assert!(answer.starts_with("HTTP/1.1 503"), "{answer}");
    assert!(
        answer.to_ascii_lowercase().contains("retry-after:"),
        "{answer}"
    );
    assert!(answer.contains("/problems/closing"), "{answer}");
    running.served.await.expect("no panic").expect("served");
    assert!(begun.elapsed() < Duration::from_secs(2));
    assert!(hear(&slow.ended_by_stop).await);
}
