//! Listening, and stopping in order.

use std::net::{IpAddr, Ipv4Addr, SocketAddr, UdpSocket};
use std::pin::pin;
use std::sync::Arc;
use std::time::Duration;

use axum::Router;
use axum::body::Body;
use axum::extract::{ConnectInfo, Request};
use hyper::body::Incoming;
use hyper::server::conn::http1;
use hyper::service::service_fn;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::server::graceful::GracefulShutdown;
use tokio::net::TcpListener;
use tokio::sync::{Semaphore, oneshot};
use tokio::task::JoinHandle;
use tower::ServiceExt;

use crate::routes::router;
use crate::state::{Access, App};

/// Connections that are open at once: a browser has six at most.
const MOST_CONNECTIONS: usize = 512;

/// How long a connection may take for the head of its next request, and so stay idle.
const HEADER_PATIENCE: Duration = Duration::from_secs(10);

/// How long what is under way is waited for when the server stops.
const LAST_PATIENCE: Duration = Duration::from_secs(30);

/// How long to wait after nobody could be let in.
const ACCEPT_AGAIN: Duration = Duration::from_millis(100);

/// Where to listen.
#[derive(Clone, Copy, Debug)]
pub struct ServeOptions {
    /// 0 takes any free port.
    pub port: u16,
}

/// Why the pages could not be served.
#[derive(Debug, thiserror::Error)]
pub enum ServeError {
    /// The port is taken or not allowed.
    #[error("port {port} cannot be used: {source}; choose another one with --port")]
    Port {
        /// Which.
        port: u16,
        /// Why.
        source: std::io::Error,
    },
    /// The server ended with an error.
    #[error("the server ended: {0}")]
    Ended(#[from] std::io::Error),
}

/// A server that runs until it is told to stop.
pub struct Serving {
    /// Where it listens.
    pub address: SocketAddr,
    stop: Option<oneshot::Sender<()>>,
    task: JoinHandle<std::io::Result<()>>,
}

impl Serving {
    /// Stops taking requests, finishes those under way, and returns.
    ///
    /// # Errors
    /// What the server ended with.
    pub async fn stop(mut self) -> Result<(), ServeError> {
        if let Some(stop) = self.stop.take() {
            // Nobody listens where the server has ended already.
            let _ = stop.send(());
        }
        self.wait().await
    }

    /// Waits until the server ends by itself.
    ///
    /// # Errors
    /// What the server ended with.
    pub async fn wait(self) -> Result<(), ServeError> {
        match self.task.await {
            Ok(ended) => Ok(ended?),
            Err(panicked) => Err(ServeError::Ended(std::io::Error::other(panicked))),
        }
    }
}

/// Begins to serve the pages.
///
/// # Errors
/// The port cannot be used.
pub async fn start(app: App, options: ServeOptions) -> Result<Serving, ServeError> {
    let address = match app.access {
        Access::ThisMachine => IpAddr::V4(Ipv4Addr::LOCALHOST),
        Access::LocalNetwork => IpAddr::V4(Ipv4Addr::UNSPECIFIED),
    };
    let unusable = |source| ServeError::Port { port: options.port, source };
    let listener = TcpListener::bind((address, options.port)).await.map_err(unusable)?;
    let address = listener.local_addr().map_err(unusable)?;
    let (stop, stopped) = oneshot::channel::<()>();
    let stopped = async move {
        // A sender that is gone means that nobody will ever stop this server.
        if stopped.await.is_err() {
            std::future::pending::<()>().await;
        }
    };
    let task = tokio::spawn(async move {
        let ahead = tokio::spawn(app.clone().read_ahead());
        let ended = serve(listener, router(app), stopped).await;
        // It holds the book, which is closed after this.
        ahead.abort();
        let _ = ahead.await;
        ended
    });
    Ok(Serving { address, stop: Some(stop), task })
}

/// Answers whoever connects, until it is told to stop; then finishes what is under way.
async fn serve(
    listener: TcpListener,
    router: Router,
    stopped: impl Future<Output = ()>,
) -> std::io::Result<()> {
    let mut protocol = http1::Builder::new();
    protocol.timer(TokioTimer::new()).header_read_timeout(HEADER_PATIENCE);
    let seats = Arc::new(Semaphore::new(MOST_CONNECTIONS));
    let connections = GracefulShutdown::new();
    let mut stopped = pin!(stopped);
    loop {
        let next = async {
            // Closed by nobody: whoever comes when all seats are taken waits for one.
            let seat = Arc::clone(&seats).acquire_owned().await.map_err(std::io::Error::other)?;
            let (stream, from) = listener.accept().await?;
            Ok::<_, std::io::Error>((seat, stream, from))
        };
        let (seat, stream, from) = tokio::select! {
            () = &mut stopped => break,
            next = next => match next {
                Ok(next) => next,
                Err(_) => {
                    // Somebody who went at once, or no more files can be open: that passes.
                    tokio::time::sleep(ACCEPT_AGAIN).await;
                    continue;
                }
            },
        };
        let router = router.clone();
        let answer = service_fn(move |mut request: Request<Incoming>| {
            request.extensions_mut().insert(ConnectInfo(from));
            router.clone().oneshot(request.map(Body::new))
        });
        let connection = protocol.serve_connection(TokioIo::new(stream), answer);
        let connection = connections.watch(connection);
        tokio::spawn(async move {
            // A connection that breaks is the end of it; whoever was there asks again.
            let _ = connection.await;
            drop(seat);
        });
    }
    drop(listener);
    // What still comes in after that is sent again: a piece is kept whole or not at all.
    let _ = tokio::time::timeout(LAST_PATIENCE, connections.shutdown()).await;
    Ok(())
}

/// This machine's address in the local network, if it is in one. Nothing is sent: the system only
/// says from which address it would send (to one that is reserved for documentation, RFC 5737).
#[must_use]
pub fn network_address() -> Option<IpAddr> {
    let socket = UdpSocket::bind("0.0.0.0:0").ok()?;
    socket.connect("192.0.2.1:9").ok()?;
    Some(socket.local_addr().ok()?.ip()).filter(|address| !address.is_unspecified())
}
