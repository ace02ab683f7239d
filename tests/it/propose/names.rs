//! What a file calls its birds: names of no set, and names that contradict each other.

use super::{OWN_NAMES, filled_in, proposed, settings};
use harness::program::{Workspace, typed};

#[test]
fn names_of_no_set_are_those_of_the_demo_or_of_the_workspace_around() {
    let (workspace, said) = proposed("counts.csv", OWN_NAMES);
    let out = said.works();
    for told in [
        "Calidris alpina, Dunlin (2 rows)",
        "Oenanthe oenanthe, Northern Wheatear, in the file: Wheatear (1 row)",
        "\"Snow Buntng\" (1 row); the nearest is \"Snow Bunting\"",
        "\"Dunlim\" (1 row); the nearest is \"Dunlin\"",
        "\"Sea Lark\" (1 row)",
    ] {
        assert!(out.contains(told), "{told}\n{out}");
    }
    let text = settings(&workspace);
    for lines in [
        "# If it is meant, write under \"Calidris alpina\" above:\n# also = [\"Dunlim\"]\n",
        "# If it is meant, take the # from these lines:\n# [[species]]\n\
         # scientific = \"Plectrophenax nivalis\"\n# names = { en = \"Snow Bunting\" }\n\
         # also = [\"Snow Buntng\"]\n",
        "# [[species]]\n# scientific = \"Genus epithet\"\n# also = [\"Sea Lark\"]\n",
    ] {
        assert!(text.contains(lines), "{lines}\n{text}");
    }
    // the folder of the file is a workspace that knows the bird
    let around = Workspace::empty().with("counts.csv", OWN_NAMES);
    let own = "[workspace]\nname = \"Skerrow Ness\"\n[[site]]\nid = \"bank\"\nname = \"Bank\"\n\
        latitude = 54.63\nlongitude = -0.41\ntime_zone = \"Europe/London\"\n\
        region = \"western-palearctic\"\n[[species]]\nscientific = \"Calidris alpina\"\n\
        names = { en = \"Dunlin\" }\nalso = [\"Sea Lark\"]\n[[source]]\nid = \"counts\"\n\
        kind = \"counts\"\nfile = \"counts.csv\"\n\
        columns = { date = \"Date\", species = \"Bird\", count = \"Count\" }\n";
    let around = around.with("wingtide.toml", own);
    let into = Workspace::empty();
    let (dir, file) = (into.path(""), around.path("counts.csv"));
    let (dir, file) = (dir.to_str().expect("plain"), file.to_str().expect("plain"));
    typed(&["new", dir, "--from", file]).works();
    let text = settings(&into);
    assert!(text.contains("also = [\"Sea Lark\"]") && !text.contains("# also = [\"Sea Lark\"]"));
}

/// A cell with two names, and a column of English names beside one of scientific ones, that
/// contradict each other; two that agree, and a word in brackets that is no name.
#[test]
fn names_that_contradict_each_other_are_asked_about() {
    let csv = "Date,Bird,Count\n2024-05-01,Dunlin,2\n2024-05-01,Dunlin (Calidris minuta),3\n\
        2024-05-02,Dunlin (summer plumage),7\n2024-05-02,Little Stint (Calidris minuta),1\n\
        2024-05-03,Sanderling,1\n";
    let (workspace, said) = proposed("counts.csv", csv);
    let out = said.works();
    for told in [
        "two names of two species, of which one is wrong: 1",
        "\"Dunlin (Calidris minuta)\" says \"Dunlin\" (Calidris alpina), but \"Calidris minuta\" (1 row)",
        "names of no species known here, to be filled in: 1",
        "\"Dunlin (summer plumage)\" (1 row)",
    ] {
        assert!(out.contains(told), "{told}\n{out}");
    }
    let offered = "# If \"Calidris alpina\" is meant, write under \"Calidris alpina\" above:\n\
        # also = [\"Dunlin (Calidris minuta)\"]\n";
    let text = settings(&workspace);
    assert!(text.contains(offered), "{text}");
    filled_in(&workspace);
    let row = "Dunlin (Calidris minuta)";
    let refused = workspace.run(&["load"]).works();
    assert!(refused.contains("names two species"), "{refused}");
    // taken up as offered, the row is one of Dunlin
    let scientific = "scientific = \"Calidris alpina\"";
    let line = settings(&workspace);
    let line = line
        .lines()
        .find(|l| l.starts_with(scientific))
        .expect("listed");
    let also = format!("{line}\nalso = [\"{row}\"]");
    workspace.write(
        "wingtide.toml",
        settings(&workspace).replacen(line, &also, 1),
    );
    let taken = workspace.run(&["load"]).works();
    assert!(!taken.contains("names two species"), "{taken}");
}

#[test]
fn columns_of_names_that_contradict_each_other_are_asked_about() {
    let csv =
        "Date,English,Scientific\nname,Count\n".replace("Scientific\nname", "\"Scientific\nname\"");
    let rows = "2024-05-01,Dunlin,Calidris alpina,2\n2024-05-02,Dunlin,Calidris minuta,2\n\
        2024-05-03,Dunlin,Calidris minuta,2\n2024-05-04,Sanderling,Calidris alba,2\n";
    let (workspace, said) = proposed("counts.csv", csv + rows);
    let out = said.works();
    assert!(
        out.contains("of which one is wrong: 1\n") && out.contains("(2 rows)"),
        "{out}"
    );
    let text = settings(&workspace);
    let asked = "# In doubt (2 rows): \"";
    let line = text
        .lines()
        .find(|l| l.starts_with(asked))
        .unwrap_or_else(|| panic!("{text}"));
    for said in [
        "\"English\"",
        "\"Scientific name\"",
        "\"Dunlin\" (Calidris alpina)",
        "\"Calidris minuta\"",
    ] {
        assert!(line.contains(said), "{said}: {line}");
    }
    // no line end of the header breaks the settings
    filled_in(&workspace);
    workspace.run(&["load"]).works();
}

/// Rows of visits on which nothing was found are of no species, whatever the word for it looks like.
#[test]
fn visits_without_birds_are_no_species() {
    let csv = "Date,Bird,Count,Minutes\n2024-05-01,Dunlin,2,60\n2024-05-02,No birds,,60\n\
        2024-05-03,nil,0,45\n2024-05-04,No birds,,60\n2024-05-05,-,,30\n2024-05-06,Little Stint,1,60\n";
    let (workspace, said) = proposed("counts.csv", csv);
    let out = said.works();
    for told in ["species: 2\n", "visits without birds: 4 rows\n"] {
        assert!(out.contains(told), "{told}\n{out}");
    }
    assert!(!out.contains("names of no"), "{out}");
    let text = settings(&workspace);
    for word in ["No birds", "nil", "\"-\""] {
        assert!(!text.contains(word), "{word}\n{text}");
    }
    filled_in(&workspace);
    let loaded = workspace.run(&["load"]).works();
    assert!(
        loaded.contains("6 accepted, 4 of them repaired; 0 refused"),
        "{loaded}"
    );
    assert!(loaded.contains("6 visit dates"), "{loaded}");
    // with none of them nothing is said
    let (_, said) = proposed("counts.csv", OWN_NAMES);
    assert!(!said.works().contains("without birds"));
}
