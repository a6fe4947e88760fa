//! Logins: an invitation makes one account, and taking an account away logs it out.

use academy::{Member, Role};
use store::{Book, By, StoreError};

#[tokio::test]
async fn one_invitation_makes_one_account() {
    let folder = tempfile::tempdir().unwrap();
    let book = Book::open(folder.path()).await.unwrap();
    book.invite(Role::Coach, None, "a token", 100).await.unwrap();
    let late = book.accept_invitation("a token", 100, "Ines", "hash").await.unwrap_err();
    assert!(matches!(late, StoreError::Missing(_)), "{late}");
    let nameless = book.accept_invitation("a token", 99, "  ", "hash").await.unwrap_err();
    assert!(matches!(nameless, StoreError::Refused(_)), "{nameless}");
    // Two who come at once with one link: one gets in.
    let [one, other] = [book.clone(), book.clone()];
    let (one, other) = tokio::join!(
        one.accept_invitation("a token", 99, "Ines", "hash"),
        other.accept_invitation("a token", 99, "Mallory", "hash")
    );
    assert!(one.is_ok() != other.is_ok(), "{one:?} {other:?}");
    let account = book.accounts().await.unwrap().remove(0);
    book.begin_session(account.id, "a session", 10, 50).await.unwrap();
    assert_eq!(book.session("a session", 49).await.unwrap(), Some((account.clone(), 50)));
    assert_eq!(book.session("a session", 50).await.unwrap(), None);
    book.delete_account(account.id).await.unwrap();
    assert_eq!(book.session("a session", 49).await.unwrap(), None);
    assert!(book.accounts().await.unwrap().is_empty());
}

#[tokio::test]
async fn no_token_is_kept_as_it_is() {
    let folder = tempfile::tempdir().unwrap();
    let book = Book::open(folder.path()).await.unwrap();
    book.invite(Role::Coach, None, "the-invitation-token", 100).await.unwrap();
    let made = book.accept_invitation("the-invitation-token", 1, "Ines", "hash").await.unwrap();
    book.begin_session(made, "the-session-token", 1, 100).await.unwrap();
    book.invite(Role::Coach, None, "another-invitation-token", 100).await.unwrap();
    book.close().await;
    let kept = std::fs::read(folder.path().join("book.sqlite")).unwrap();
    let text = String::from_utf8_lossy(&kept);
    assert!(text.contains("Ines"));
    for token in ["the-invitation-token", "the-session-token", "another-invitation-token"] {
        assert!(!text.contains(token), "{token}");
    }
}

#[tokio::test]
async fn a_new_invitation_takes_the_place_of_the_login_whose_password_is_forgotten() {
    let folder = tempfile::tempdir().unwrap();
    let book = Book::open(folder.path()).await.unwrap();
    let by = By { who: "Ines".to_owned(), at: 1, seen: None };
    let member = Member { name: "Petra".to_owned(), ..Member::default() };
    let petra = book.add_member(&by, &member).await.unwrap();
    let mut made = Vec::new();
    for (token, role, login) in [
        ("one", Role::Student, "petra"),
        ("two", Role::Assistant, "petra at the desk"),
        ("three", Role::Student, "Petra"),
    ] {
        book.invite(role, Some(petra), token, 100).await.unwrap();
        made.push(book.accept_invitation(token, 1, login, "hash").await.unwrap());
        book.begin_session(*made.last().unwrap(), login, 1, 100).await.unwrap();
    }
    // A name that is somebody else's takes nothing away.
    book.invite(Role::Student, Some(petra), "four", 100).await.unwrap();
    let taken = book.accept_invitation("four", 1, "petra at the desk", "hash").await.unwrap_err();
    assert!(matches!(taken, StoreError::Refused(_)), "{taken}");
    let kept: Vec<_> = book.accounts().await.unwrap().iter().map(|account| account.id).collect();
    assert_eq!(kept, [made[2], made[1]]);
    assert!(book.session("petra", 2).await.unwrap().is_none(), "still logged in");
    assert!(book.session("Petra", 2).await.unwrap().is_some());
}
