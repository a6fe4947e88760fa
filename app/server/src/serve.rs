//! Listening, and stopping in order.

use std::net::{IpAddr, Ipv4Addr, SocketAddr, UdpSocket};

use tokio::net::TcpListener;
use tokio::sync::oneshot;
use tokio::task::JoinHandle;

use crate::routes::router;
use crate::state::{Access, App};

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
    let service = router(app).into_make_service_with_connect_info::<SocketAddr>();
    let serving = axum::serve(listener, service).with_graceful_shutdown(async move {
        // A sender that is gone means that nobody will ever stop this server.
        if stopped.await.is_err() {
            std::future::pending::<()>().await;
        }
    });
    let task = tokio::spawn(async move { serving.await });
    Ok(Serving { address, stop: Some(stop), task })
}

/// This machine's address in the local network, if it is in one. Nothing is sent: the system only
/// says from which address it would send (to one that is reserved for documentation, RFC 5737).
#[must_use]
pub fn network_address() -> Option<IpAddr> {
    let socket = UdpSocket::bind("0.0.0.0:0").ok()?;
    socket.connect("192.0.2.1:9").ok()?;
    Some(socket.local_addr().ok()?.ip()).filter(|address| !address.is_unspecified())
}
