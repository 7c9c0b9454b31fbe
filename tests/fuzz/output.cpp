// Any loom through what is drawn and printed.
#include <functional>
#include <string>

#include "bounded.h"
#include "markup.h"
#include "show/diagram.h"
#include "show/file_mark.h"
#include "show/paper.h"
#include "show/report.h"
#include "targets.h"

namespace loomproof::fuzz {
namespace {

// A diagram is laid out by search, which costs a fuzzer a second for five wires: few and small ones are drawn. Larger
// ones hold no text that small ones cannot hold.
constexpr std::size_t most_drawn = 4;
bool is_drawn(const Loom& loom, std::string_view bytes) {
  return loom.wires.size() <= most_drawn && std::hash<std::string_view>{}(bytes) % 8 == 0;
}

// In place of what `dot` makes of the diagram: to start a program for every input would take all the time.
constexpr std::string_view picture = "<svg width=\"10pt\" height=\"10pt\" viewBox=\"0 0 10 10\"></svg>";

}  // namespace

void output(std::string_view bytes) {
  const std::unique_ptr<Bounded> bounded = judged_within(bytes);
  if (!bounded) return;
  const Loom& loom = *bounded->read.loom;
  const Solved& solved = *bounded->solved;
  const Judgement& judgement = *bounded->judgement;
  const std::string mark = file_mark(bytes);
  if (is_drawn(loom, bytes)) {
    DiagramRequest request{loom, &judgement, solved.zone};
    request.file_mark = mark;
    check_dot(dot_text(request), loom.wires.size());
  }
  if (!judgement.obligations.empty()) check_html(report_of(solved, judgement, picture, mark), 2);
  for (const PaperFile& file : papers_of(solved, judgement, {}, mark)) {
    if (file.name.ends_with(".html")) {
      check_html(file.bytes, 0);
    } else {
      std::string lines = file.bytes;
      std::erase(lines, '\r');
      promise(is_harmless(lines, true), "CSV holds no control characters", file.name);
    }
  }
}

}  // namespace loomproof::fuzz
