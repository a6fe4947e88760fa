//! `grapevine serve`: the academy's book as pages in a browser.

use server::{Access, App, ServeOptions};
use store::Book;
use tokio::runtime::Runtime;

use super::error::CommandError;
use crate::arguments::ServeArguments;
use crate::{book_folder, terminal};

pub(crate) fn run(arguments: &ServeArguments) -> Result<(), CommandError> {
    let folder = book_folder::or_usual(arguments.book.clone())?;
    let runtime = Runtime::new().map_err(|source| CommandError::NoRuntime { source })?;
    runtime.block_on(async {
        let book = Book::open(&folder).await?;
        let access = if arguments.lan { Access::LocalNetwork } else { Access::ThisMachine };
        let app = App::new(book.clone(), access)?;
        if app.needs_invented_academy().await? {
            terminal::write("Setting up an invented academy to look at ...\n")?;
            app.put_invented_academy().await?;
        }
        let serving = server::start(app.clone(), ServeOptions { port: arguments.port }).await?;
        let port = serving.address.port();
        let mut address = format!("http://localhost:{port}/");
        terminal::write(&format!(
            "grapevine is at {address}\nThe book is in {}. Stop with Ctrl-C.\n",
            folder.display()
        ))?;
        if arguments.lan {
            if let Some(network) = server::network_address() {
                let told = format!("On the local network it is at http://{network}:{port}/\n");
                terminal::write(&told)?;
            }
            // The first coach has nobody to be invited by.
            if let Some(path) = server::first_invitation(&app).await? {
                address = format!("http://localhost:{port}{path}");
                terminal::write(&format!("Make your login here, within seven days: {address}\n"))?;
            }
        }
        if !arguments.no_browser && has_screen() {
            // Whoever has no browser reads the address above.
            let _ = open::that_detached(&address);
        }
        stop_asked().await;
        terminal::write("Stopping.\n")?;
        serving.stop().await?;
        book.close().await;
        Ok(())
    })
}

/// Whether there is a screen on which a browser could open.
fn has_screen() -> bool {
    cfg!(any(target_os = "macos", windows))
        || ["DISPLAY", "WAYLAND_DISPLAY"].iter().any(|name| std::env::var_os(name).is_some())
}

/// Waits for Ctrl-C, or for the system's request to end.
async fn stop_asked() {
    let interrupted = async {
        if tokio::signal::ctrl_c().await.is_err() {
            std::future::pending::<()>().await;
        }
    };
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        match signal(SignalKind::terminate()) {
            Ok(mut ended) => {
                tokio::select! {
                    () = interrupted => {}
                    _ = ended.recv() => {}
                }
            }
            Err(_) => interrupted.await,
        }
    }
    #[cfg(not(unix))]
    interrupted.await;
}
