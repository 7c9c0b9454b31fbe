// `report`: whole or absent, with the exit codes of every command.
#include "main/program.h"

using program::cart;
using program::Folder;
using program::has;
using program::Ran;
using program::run;

TEST_CASE("a page is written, whatever it says") {
  const Folder folder;
  const Ran ran = run({"report", cart, "-o", folder.at("cart.html")});
  CHECK(ran.code == 0);
  CHECK(ran.out.empty());
  CHECK(ran.err.empty());
  CHECK(folder.count() == 1);
  const std::string page = texts::of_file(folder.at("cart.html"));
  CHECK(page.starts_with("<!DOCTYPE html>"));
  CHECK(page.ends_with("</html>\n"));
}

TEST_CASE("without dot, without a place or without a loom there is no page") {
  const Folder folder;
  const Ran no_dot =
      run({.arguments = {"report", cart, "-o", folder.at("cart.html")}, .environment = {"PATH=/nowhere"}});
  CHECK(no_dot.code == 4);
  CHECK(has(no_dot.err, "graphviz"));
  const Ran no_place = run({"report", cart, "-o", folder.at("none/cart.html")});
  CHECK(no_place.code == 4);
  CHECK(has(no_place.err, "cannot write"));
  const std::string bad = folder.write("bad.yaml", "loom: 1\nparts: {a: {is: nothing}}\n");
  CHECK(run({"report", bad, "-o", folder.at("cart.html")}).code == 2);
  CHECK(run({"report", cart}).code == 2);
  CHECK(folder.count() == 1);  // bad.yaml alone
}
