// `draw` as a user runs it: views, several sheets, and every way in which `dot` can fail; a file is whole or absent.
#include "main/program.h"

using program::cart;
using program::Folder;
using program::has;
using program::Ran;
using program::run;

namespace {

const std::string bench_loom = std::string(TESTS_DIR) + "/show/looms/bench-12.yaml";
const std::string large_loom = std::string(TESTS_DIR) + "/show/looms/cart-204.yaml";

/// A folder whose `dot` is this script.
void put_dot(const Folder& folder, const std::string& script) {
  folder.write("dot", "#!/bin/sh\n" + script);
  std::filesystem::permissions(folder.at("dot"), std::filesystem::perms::owner_all);
}

Ran draw_with(const Folder& tools, std::vector<std::string> arguments) {
  arguments.insert(arguments.begin(), "draw");
  return run({.arguments = std::move(arguments), .environment = {"PATH=" + tools.at("")}});
}

}  // namespace

TEST_CASE("all four forms, each recognisable, nothing said") {
  const Folder folder;
  for (const auto& [name, head] :
       {std::pair{"a.svg", "<?xml"}, {"a.pdf", "%PDF-"}, {"a.png", "\x89PNG"}, {"a.dot", "digraph"}}) {
    const Ran ran = run({"draw", bench_loom, "-o", folder.at(name)});
    CHECK_MESSAGE(ran.code == 0, ran.err);
    CHECK(ran.out.empty());
    CHECK(texts::of_file(folder.at(name)).starts_with(head));
  }
  CHECK(folder.count() == 4);
}

TEST_CASE("every sheet of every view has its caution, with the shock where the vehicle is above 60 V DC") {
  const std::string quad = std::string(SOURCE_ROOT) + "/netlists/marshals-quad.yaml";
  const std::string said = "DANGER: Pack and capacitors stay charged: measure first.", shock = "touch can kill";
  const Folder folder;
  for (const auto& [loom, above] : {std::pair{cart, false}, {quad, true}}) {
    for (const char* view : {"power", "control"}) {
      const std::string out = folder.at(std::string(view) + ".svg");
      REQUIRE(run({"draw", loom, "-o", out, "--view", view}).code == 0);
      const std::string svg = texts::of_file(out);
      CHECK(has(svg, said));
      CHECK(has(svg, shock) == above);
    }
  }
  REQUIRE(run({"draw", large_loom, "-o", folder.at("large.svg")}).code == 0);
  const std::size_t sheets = folder.count() - 2;
  REQUIRE(sheets >= 2);
  for (std::size_t i = 1; i <= sheets; ++i)
    CHECK(has(texts::of_file(folder.at("large-" + std::to_string(i) + ".svg")), said));
}

TEST_CASE("the same file gives the same bytes") {
  const Folder folder;
  for (const char* form : {"svg", "png", "dot"}) {
    const std::string one = folder.at(std::string("one.") + form), two = folder.at(std::string("two.") + form);
    REQUIRE(run({"draw", bench_loom, "--date", "today", "-o", one}).code == 0);
    REQUIRE(run({"draw", bench_loom, "--date", "today", "-o", two}).code == 0);
    CHECK(texts::of_file(one) == texts::of_file(two));
  }
}

TEST_CASE("no dot: exit 4, the package is named, no file; DOT text needs none") {
  const Folder folder, empty;
  const Ran ran = draw_with(empty, {bench_loom, "-o", folder.at("a.svg")});
  CHECK(ran.code == 4);
  CHECK(has(ran.err, "graphviz"));
  CHECK(folder.count() == 0);
  CHECK(draw_with(empty, {bench_loom, "-o", folder.at("a.dot")}).code == 0);
  CHECK(folder.count() == 1);
}

TEST_CASE("a dot that dies, complains or answers rubbish: exit 4, and the old file stays as it was") {
  const Folder folder, tools;
  const std::string out = folder.write("a.svg", "old");
  for (const auto& [script, words] : {std::pair{"kill -9 $$\n", "signal 9"},
                                      {"echo 'no \033[31mred' >&2; exit 3\n", "code 3"},
                                      {"echo hello\n", "no drawing"},
                                      {"exit 0\n", "no drawing"},
                                      {"echo '<svg'; exit 1\n", "code 1"}}) {
    put_dot(tools, script);
    const Ran ran = draw_with(tools, {bench_loom, "-o", out});
    CHECK(ran.code == 4);
    CHECK_MESSAGE(has(ran.err, words), ran.err);
    CHECK_FALSE(has(ran.err, "\033"));
    CHECK(texts::of_file(out) == "old");
    CHECK(folder.count() == 1);
  }
}

TEST_CASE("a dot on a relative path is not started") {
  const Folder folder;
  put_dot(folder, "touch started; echo hello\n");
  const Ran ran = run({.arguments = {"draw", bench_loom, "-o", folder.at("a.svg")}, .environment = {"PATH=.:"}});
  CHECK(ran.code == 4);
  CHECK(has(ran.err, "graphviz"));
}

TEST_CASE("a long loom becomes several files, and none of them when one cannot be drawn") {
  const Folder folder, tools;
  const Ran ran = run({"draw", large_loom, "-o", folder.at("plan.svg")});
  CHECK_MESSAGE(ran.code == 0, ran.err);
  CHECK(folder.count() >= 2);
  CHECK(has(ran.out, std::to_string(folder.count()) + " sheets: "));
  CHECK(has(texts::of_file(folder.at("plan-1.svg")), "sheet 1 of "));
  CHECK(has(texts::of_file(folder.at("plan-2.svg")), "sheet 2 of "));
  // The first call is the true dot, the second fails.
  put_dot(tools, "if [ -e '" + tools.at("once") + "' ]; then exit 1; fi\n: > '" + tools.at("once") +
                     "'\nexec /usr/bin/dot \"$@\"\n");
  const Folder other;
  CHECK(draw_with(tools, {large_loom, "-o", other.at("plan.svg")}).code == 4);
  CHECK(other.count() == 0);
}

TEST_CASE("views: the file may stand before or after them; a bundle that is not there is told") {
  const Folder folder;
  const std::string out = folder.at("a.svg");
  CHECK(run({"draw", "--view", "power", cart, "-o", out}).code == 0);
  CHECK(has(texts::of_file(out), ">power</text>"));
  CHECK(run({"draw", cart, "--view", "control", "-o", out}).code == 0);
  CHECK(has(texts::of_file(out), ">control and loads</text>"));
  CHECK(run({"draw", cart, "-o", out, "--view", "bundle", "trunk"}).code == 0);
  CHECK(has(texts::of_file(out), ">bundle trunk</text>"));
  CHECK(has(texts::of_file(out), "id=\"wire T2\""));
  CHECK_FALSE(has(texts::of_file(out), "id=\"wire T1\""));
  for (const auto& [arguments, words] : {
           std::pair{std::vector<std::string>{"--view", "bundle", "trunc"}, "did you mean 'trunk'?"},
           {{"--view", "bundle"}, "needs the name"},
           {{"--view", "sideways"}, "there is no view 'sideways'"},
           {{"--view", "power", "trunk"}, "takes no name"},
           {{"--finding", "7"}, "there is no finding 7: the file has 0"},
           {{"--finding", "0"}, "finding"},
           {{"--paper", "letter"}, "letter"},
       }) {
    std::vector<std::string> all{"draw", cart, "-o", folder.at("b.svg")};
    all.insert(all.end(), arguments.begin(), arguments.end());
    const Ran ran = run(all);
    CHECK(ran.code == 2);
    CHECK(ran.out.empty());
    CHECK_MESSAGE(has(ran.err, words), ran.err);
  }
  CHECK(folder.count() == 1);
  CHECK(run({"draw", "-o", out}).code == 2);
}

TEST_CASE("--finding marks every wire of the story's current, and only these") {
  const std::string held = std::string(TESTS_DIR) + "/control/held-in.yaml";
  const Ran checked = run({"check", "--format", "json", held});
  REQUIRE(checked.code == 1);
  // The first story with a path; W5, W6 and W7 hold the coil in after the stop (tests/control/held-in.truth).
  const std::string number = [&] {
    const Ran text = run({"check", held});
    const std::size_t at = text.out.find("bus-off");
    REQUIRE(at != std::string::npos);
    const std::size_t open = text.out.find("[", at);
    return text.out.substr(open + 1, text.out.find(']', open) - open - 1);
  }();
  const Folder folder;
  const std::string plain = folder.at("plain.dot"), marked = folder.at("marked.dot");
  REQUIRE(run({"draw", held, "-o", plain}).code == 0);
  REQUIRE(run({"draw", held, "-o", marked, "--finding", number}).code == 0);
  const auto count = [&](const std::string& path, const std::string& what) {
    const std::string text = texts::of_file(path);
    std::size_t n = 0;
    for (std::size_t at = 0; (at = text.find(what, at)) != std::string::npos; ++at) ++n;
    return n;
  };
  CHECK(texts::of_file(marked) != texts::of_file(plain));
  CHECK(count(marked, "current of the finding") == 1);
  // The band's yellow: once a wire, once in the legend.
  CHECK(count(marked, "-#ffe566") == 3 + 1);
  CHECK(count(plain, "current of the finding") == 0);
}

TEST_CASE("names of the command line stay what they are") {
  const Folder folder;
  const std::string odd = folder.at("-T<x>&\"$(touch no).svg");
  CHECK(run({"draw", bench_loom, "-o", odd, "--date", "<script>alert(1)</script>"}).code == 0);
  const std::string svg = texts::of_file(odd);
  CHECK_FALSE(has(svg, "<script"));
  CHECK(has(svg, "&lt;script"));
  CHECK(folder.count() == 1);
}
