//! Connections that hold on without asking anything.

use server::Access;
use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _};
use tokio::net::TcpStream;

use crate::app::Served;

#[tokio::test]
async fn half_a_request_is_waited_for_no_longer_than_it_takes_and_others_go_on() {
    let served = Served::new(Access::ThisMachine).await;
    let mut held = Vec::new();
    for half in ["", "GET / HTTP/1.1\r\nHost: local"] {
        let mut stream = TcpStream::connect(served.address).await.unwrap();
        stream.write_all(half.as_bytes()).await.unwrap();
        held.push(stream);
    }
    served.browser().get("/").await.says("<h1");
    for mut stream in held {
        let mut answer = Vec::new();
        // Without an end of that connection this never ends.
        stream.read_to_end(&mut answer).await.unwrap();
        assert!(!answer.starts_with(b"HTTP/1.1 200"), "half a request was answered");
    }
    served.browser().get("/").await.says("<h1");
}
