//! Links to sets and the fragment of the page for frames.

use course::link::{self, LinkState};
use course::set::{self, Kind, Question, Set, View};
use course::share::{
    Embed, EmbedError, Frame, Height, Open, SetLinkError, Shown, Text, Theme, Views,
    element_snippet, frame_snippet, read_set_link, set_link, view_of,
};
use proptest::prelude::*;

const FULL: &str = include_str!("data/full-set.json");

fn full() -> Set {
    match set::read(FULL.as_bytes()) {
        Ok(reading) => reading.set,
        Err(faults) => panic!("the example is a set: {faults:?}"),
    }
}

fn small(questions: usize) -> Set {
    let questions = (0..questions).map(|at| {
        let kind = Kind::ALL[at % 3];
        let word = kind.key();
        let view = View {
            window: Some("transverse_aorta_mid".to_owned()),
            ..View::default()
        };
        Question::fixed(&format!("{word}_{at}"), kind, view)
    });
    Set {
        title: "Ten of the aorta".to_owned(),
        pass_percent: Some(80),
        questions: questions.collect(),
        ..Set::default()
    }
}

#[test]
fn a_set_goes_through_a_link() {
    for set in [full(), small(1), small(10), small(100)] {
        let link = set_link(&set);
        assert_eq!(
            read_set_link(&link.text).map(|back| back.set),
            Ok(set.clone())
        );
        assert_eq!(
            read_set_link(&format!(" #{}\n", link.text)).map(|back| back.set),
            Ok(set)
        );
        assert_eq!(link.prefer_file, link.text.len() > 1500);
    }
    assert!(
        set_link(&small(10)).text.len() < 300,
        "{}",
        set_link(&small(10)).text.len()
    );
    assert!(
        set_link(&full()).text.len() < 1500,
        "{}",
        set_link(&full()).text.len()
    );
}

#[test]
fn a_long_set_prefers_a_file() {
    let mut set = small(30);
    for (at, question) in set.questions.iter_mut().enumerate() {
        let noise = |n: usize| (at * 7 + n).wrapping_mul(0x9E37_79B9_7F4A_7C15);
        let words: Vec<String> = (1..5).map(|n| format!("{:x}", noise(n))).collect();
        question.hint = Some(words.join(" "));
    }
    assert!(set_link(&set).prefer_file, "{}", set_link(&set).text.len());
}

#[test]
fn damage_is_told() {
    let text = set_link(&full()).text;
    let damaged = |text: &str| read_set_link(text).expect_err("damaged");
    assert_eq!(damaged("v1.body=x"), SetLinkError::Version);
    assert_eq!(damaged(&text[..text.len() - 9]), SetLinkError::Damaged);
    assert_eq!(damaged("s1."), SetLinkError::Damaged);
    assert_eq!(damaged(&format!("{text}!")), SetLinkError::Character('!'));
    assert_eq!(damaged(&"s".repeat(50_000)), SetLinkError::TooLong);
    let changed = text.replacen(
        &text[40..42],
        if &text[40..42] == "AA" { "BB" } else { "AA" },
        1,
    );
    assert!(
        read_set_link(&changed).is_err(),
        "a changed letter is noticed"
    );
}

#[test]
fn fragments() {
    let set = small(2);
    let view = LinkState {
        body: Some("adult_male".to_owned()),
        ..LinkState::default()
    };
    for embed in [
        Embed::default(),
        Embed {
            shown: Shown::View(Box::new(view)),
            language: Some("pt-BR".to_owned()),
            theme: Theme::Dark,
            ..Embed::default()
        },
        Embed {
            shown: Shown::Set(Box::new(set)),
            question: Some("side_2".to_owned()),
            host: Some("https://course.example:8443".to_owned()),
            height: Height::Auto,
            ..Embed::default()
        },
        Embed {
            shown: Shown::File("sets/week-1.json".to_owned()),
            theme: Theme::Light,
            ..Embed::default()
        },
        Embed {
            nonce: Some("a-word-of_12".to_owned()),
            views: Views::Picture,
            open: Open::Look,
            text: Text::Hidden,
            grey_percent: 100,
            ..Embed::default()
        },
    ] {
        let text = embed.write();
        assert_eq!(Embed::read(&text), Ok(embed.clone()), "{text}");
        assert_eq!(
            Embed::read(&format!("#{text}&later=1")),
            Ok(embed),
            "{text}"
        );
    }
    assert_eq!(
        Embed::read("src=a.json&theme=dark"),
        Ok(Embed {
            shown: Shown::File("a.json".to_owned()),
            theme: Theme::Dark,
            ..Embed::default()
        })
    );
}

#[test]
fn a_view_says_its_own_share_of_grey_once() {
    for (text, percent) in [
        ("v1.body=a&grey=33.4", 33),
        ("v1.body=a&grey=100&open=none", 100),
        ("v1.body=a", 0),
    ] {
        let embed = Embed::read(text).expect("a view");
        assert_eq!(embed.grey_percent, percent, "{text}");
        let written = embed.write();
        assert_eq!(Embed::read(&written), Ok(embed), "{written}");
    }
    let own = Embed {
        shown: Shown::View(Box::default()),
        grey_percent: 60,
        ..Embed::default()
    };
    let back = Embed::read(&own.write()).expect("a view");
    assert_eq!(back.grey_percent, 60, "{}", own.write());
}

#[test]
fn fragments_that_cannot_be_used() {
    let key = |text: &str| match Embed::read(text) {
        Err(EmbedError::Value { key, .. } | EmbedError::Twice(key)) => key,
        other => panic!("{text}: {other:?}"),
    };
    for (text, part) in [
        ("src=https://elsewhere.example/set.json", "src"),
        ("src=//elsewhere.example/set.json", "src"),
        ("src=/set.json", "src"),
        ("src=../set.json", "src"),
        ("src=%2e%2e/set.json", "src"),
        ("src=", "src"),
        ("question=a%20b", "question"),
        ("lang=<b>", "lang"),
        ("theme=pink", "theme"),
        ("host=https://course.example/path", "host"),
        ("host=course.example", "host"),
        ("host=https://a:b", "host"),
        ("height=12", "height"),
        ("theme=dark&theme=light", "theme"),
        ("nonce=short", "nonce"),
        ("show=all", "show"),
        ("open=Notch", "open"),
        ("text=no", "text"),
        ("grey=101", "grey"),
        ("grey=5.5", "grey"),
        ("grey=+5", "grey"),
    ] {
        assert_eq!(key(text), part, "{text}");
    }
    assert!(
        matches!(Embed::read("v1.depth=9"), Err(EmbedError::View(_))),
        "a bad view"
    );
    assert!(
        matches!(Embed::read("s1.AAAA"), Err(EmbedError::Set(_))),
        "a bad set"
    );
}

#[test]
fn the_view_of_a_fragment() {
    for (text, view) in [
        ("#v1.body=a&open=all", "v1.body=a&open=all"),
        ("open=all", ""),
        ("s1.AAAA&open=all", ""),
        ("", ""),
    ] {
        assert_eq!(view_of(text), view, "{text}");
    }
    let view = link::read(view_of("#v1.depth=120&open=look&host=https://a.example"));
    assert_eq!(
        view.map(|view| view.depth_mm),
        Ok(Some(120.0)),
        "a view passes over the other parts"
    );
}

#[test]
fn snippets() {
    let embed = Embed {
        shown: Shown::View(Box::new(
            link::read("v1.window=spleen_coronal").expect("a link"),
        )),
        theme: Theme::Dark,
        ..Embed::default()
    };
    let frame = Frame {
        base: "https://host.example/planeward/index.html",
        embed: &embed,
        title: "Spleen & \"ribs\" <1>",
        height_px: 640,
    };
    assert_eq!(
        frame_snippet(&frame),
        "<iframe src=\"https://host.example/planeward/embed.html#v1.window=spleen_coronal&amp;mark=left&amp;apex=top&amp;tol=20&amp;lie=supine&amp;seat=right&amp;theme=dark\" title=\"Spleen &amp; &quot;ribs&quot; &lt;1&gt;\" width=\"100%\" height=\"640\" loading=\"lazy\" style=\"border:0;max-width:100%\" allow=\"fullscreen\" referrerpolicy=\"strict-origin\"></iframe>"
    );
    let element = element_snippet(&frame);
    assert!(
        element.contains("<planeward-view src=\"https://host.example/planeward/embed.html#v1."),
        "{element}"
    );
    assert!(element.contains(" height=\"640\">"), "{element}");
    assert!(!element.contains("<1>"), "{element}");
}

proptest! {
    #[test]
    fn any_text_is_survived(text in "(s1\\.|v1\\.|src=|#)?.{0,120}") {
        let _ = read_set_link(&text);
        let _ = Embed::read(&text);
    }

    #[test]
    fn any_code_is_survived(code in "s1\\.[A-Za-z0-9_-]{0,200}") {
        prop_assert!(read_set_link(&code).is_err(), "noise is no set");
    }

    #[test]
    fn titles_of_any_script_go_through(title in "[^\\p{Cc}]{1,60}", hint in "[^\\p{Cc}]{1,60}") {
        let mut set = small(3);
        set.title = title;
        set.questions[0].hint = Some(hint);
        prop_assert_eq!(read_set_link(&set_link(&set).text).map(|back| back.set), Ok(set));
    }
}
