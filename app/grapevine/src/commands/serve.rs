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
        let serving = server::start(app, ServeOptions { port: arguments.port }).await?;
        let address = format!("http://localhost:{}/", serving.address.port());
        terminal::write(&format!(
            "grapevine is at {address}\nThe book is in {}. Stop with Ctrl-C.\n",
            folder.display()
        ))?;
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
