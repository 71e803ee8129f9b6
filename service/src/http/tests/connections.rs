//! Clients that take their time, that have gone without a word, or that come too often.

use std::sync::Arc;
use std::time::{Duration, Instant};

use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::TcpStream;

use super::sockets::start_with;
use super::{PATIENCE, service};
use crate::http::{Service, Settings};
use crate::text::tests::plan;

/// Short enough for a test to wait for, long enough for what is not meant to be slow.
const SOON: Duration = Duration::from_millis(500);

fn with(settings: Settings) -> Arc<Service> {
    service(Arc::new(|_, _| Ok(plan())), settings).0
}

/// Waits until so many connections are open.
pub(super) async fn until_open(service: &Service, count: usize) {
    let limit = Instant::now() + PATIENCE;
    while service.connections.load().0 != count {
        assert!(Instant::now() < limit, "{:?}", service.connections.load());
        tokio::time::sleep(Duration::from_millis(5)).await;
    }
}

/// What comes before the other side closes.
async fn rest(stream: &mut TcpStream) -> String {
    let mut text = String::new();
    let read = tokio::time::timeout(PATIENCE, stream.read_to_string(&mut text)).await;
    // Whether it closes or resets, it is the end.
    let _ = read.expect("an end in time");
    text
}

#[tokio::test]
async fn a_head_that_never_ends_is_not_waited_for() {
    let service = with(Settings {
        head_time: SOON,
        ..Settings::default()
    });
    let running = start_with(service.clone(), None);
    let mut silent = TcpStream::connect(running.address).await.expect("one");
    let mut halting = TcpStream::connect(running.address).await.expect("one");
    let head = b"GET /v1/health HTTP/1.1\r\nHost: tr";
    halting.write_all(head).await.expect("sent");
    until_open(&service, 2).await;
    assert!(!rest(&mut silent).await.contains("200"));
    assert!(!rest(&mut halting).await.contains("200"));
    until_open(&service, 0).await;
    running.end().await;
}

#[tokio::test]
async fn a_body_that_never_ends_is_not_waited_for() {
    let service = with(Settings {
        body_time: SOON,
        ..Settings::default()
    });
    let running = start_with(service.clone(), None);
    let mut stream = TcpStream::connect(running.address).await.expect("one");
    let head = b"POST /v1/plans HTTP/1.1\r\nHost: trial\r\nConnection: close\r\nContent-Type: application/json\r\nContent-Length: 900\r\n\r\n{";
    stream.write_all(head).await.expect("sent");
    let answer = rest(&mut stream).await;
    assert!(answer.starts_with("HTTP/1.1 408"), "{answer}");
    assert!(answer.contains("/problems/body-too-slow"), "{answer}");
    until_open(&service, 0).await;
    running.end().await;
}

/// It asks for more than the system's buffers hold, and reads none of it.
#[tokio::test]
async fn a_client_that_reads_nothing_is_let_go() {
    let service = with(Settings {
        write_time: SOON,
        ..Settings::default()
    });
    let running = start_with(service.clone(), None);
    let mut stream = TcpStream::connect(running.address).await.expect("one");
    until_open(&service, 1).await;
    let request = b"GET /openapi.json HTTP/1.1\r\nHost: trial\r\n\r\n";
    // The service stops reading where it cannot write, and at last it closes: then sending fails.
    let sent = tokio::time::timeout(PATIENCE, async {
        while stream.write_all(request).await.is_ok() {}
    });
    sent.await.expect("an end in time");
    until_open(&service, 0).await;
    running.end().await;
}

#[tokio::test]
async fn an_address_with_too_many_connections_gets_no_more() {
    let service = with(Settings {
        connections_each: 2,
        ..Settings::default()
    });
    let running = start_with(service.clone(), None);
    let first = TcpStream::connect(running.address).await.expect("one");
    let _second = TcpStream::connect(running.address).await.expect("one");
    until_open(&service, 2).await;
    let mut third = TcpStream::connect(running.address).await.expect("one");
    assert_eq!(rest(&mut third).await, "");
    assert_eq!(service.connections.load(), (2, 1));
    drop(first);
    until_open(&service, 1).await;
    let mut fourth = TcpStream::connect(running.address).await.expect("one");
    let request = b"GET /v1/health/live HTTP/1.1\r\nHost: trial\r\nConnection: close\r\n\r\n";
    fourth.write_all(request).await.expect("sent");
    assert!(rest(&mut fourth).await.starts_with("HTTP/1.1 200"));
    running.end().await;
}

/// RFC 6585, section 5: the head is too large. A little more than the bound may pass, where it comes in one piece.
#[tokio::test]
async fn a_giant_head_is_refused() {
    let service = with(Settings::default());
    let running = start_with(service.clone(), None);
    let mut stream = TcpStream::connect(running.address).await.expect("one");
    let field = "x".repeat(1_000_000);
    let head = format!("GET /v1/health HTTP/1.1\r\nHost: trial\r\nX-Long: {field}\r\n\r\n");
    // It may close before all of it is sent.
    let _ = stream.write_all(head.as_bytes()).await;
    let answer = rest(&mut stream).await;
    assert!(
        answer.is_empty() || answer.starts_with("HTTP/1.1 431"),
        "{answer}"
    );
    until_open(&service, 0).await;
    running.end().await;
}
