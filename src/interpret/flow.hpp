#pragma once

#include "grammar/ast.hpp"
#include "grammar/parse.hpp"
#include "interpret/line_index.hpp"
#include "interpret/parameters.hpp"
#include "interpret/passages.hpp"
#include "text/finding.hpp"
#include "text/input.hpp"

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <unordered_set>
#include <utility>
#include <vector>

namespace restep::interpret {

/// A call or return that a block's codes ask for, carried out when the rest of the block is done.
struct CallRequest {
  enum class Kind : std::uint8_t {
    none,
    program, ///< M98: a subprogram of this file
    local,   ///< M97: the lines from N on
    macro,   ///< G65: a subprogram with parameters of its own
    back,    ///< M99: the end of a subprogram
  };
  Kind kind = Kind::none;
  std::optional<std::int64_t> target;            ///< P
  std::optional<std::int64_t> repeats;           ///< L
  std::vector<std::pair<int, double>> arguments; ///< of a macro call: parameter and value
  text::Span span;
};

/// Which line comes next: calls, jumps and loops (trade practice; all of it is common practice without an
/// open standard). Whatever decides on it must be known: a condition with an unknown value is refused.
///
/// A subprogram stands in the same file. Its lines are read anew for every call, so the stream is that of a
/// program without calls.
class Flow {
public:
  enum class Outcome : std::uint8_t {
    done,
    elsewhere, ///< the subprogram is not in this file: nobody knows what it does
    refused,   ///< the finding is made
  };

  /// `line` is the one in work; the next one follows it.
  Flow(text::Input& input, Parameters& parameters, text::Findings& findings, PassageFinder& passages,
       LineIndex index, std::uint32_t line, int most_blocks);

  /// The next line; false when there is none, or when there is no end of it. `text` is valid until the next
  /// call.
  bool next(text::Line& line);

  /// Executes one flow word of the line in work.
  Outcome run(grammar::ast::Item const& item, text::Line const& line);
  Outcome run(CallRequest const& request, text::Line const& line);

  /// True in a subprogram.
  bool in_call() const { return !calls_.empty(); }
  /// The line in work is the one that the call led to.
  bool at_head() const { return in_call() && calls_.back().begin == here(); }
  /// The line in work has been passed before, or is no part of the main program: it is not where its text
  /// stands.
  bool displaced() const { return displaced_; }

  /// The line of the main program in work, or the one that called what is in work.
  text::Place main_place() const { return index_.place(main_line_); }

  /// A refused line is not executed again.
  void mark_refused(std::uint32_t line);
  bool is_refused(std::uint32_t line) const;

  /// The program has ended; what follows in the file follows the lines of the main program.
  void end_program();
  /// The subprogram in work has no end: said once, and its caller goes on.
  void refuse_open_call(text::Line const& line);

private:
  struct Call {
    CallRequest::Kind kind = CallRequest::Kind::none;
    std::string name;
    std::uint32_t begin = 0; ///< its first line
    std::uint32_t back = 0;  ///< the line behind the call
    std::int64_t left = 0;   ///< how often it still runs, this time included
    int locals = 0;
    std::vector<std::pair<int, double>> arguments;
    bool by_label = false;
    std::map<std::uint32_t, std::int64_t> turns; ///< turns left of the repeat loop that begins at a line
  };

  text::Input& input_;
  Parameters& parameters_;
  text::Findings& findings_;
  PassageFinder& passages_;
  LineIndex index_;
  std::uint32_t next_;
  std::uint32_t main_line_;
  bool ended_ = false;
  std::uint32_t furthest_; ///< the last line of the main program that was reached
  bool displaced_ = false;
  std::uint64_t most_blocks_;
  std::uint64_t most_refused_; ///< of a program of which a line was refused
  std::uint64_t executed_ = 0;
  std::vector<Call> calls_;
  std::map<std::uint32_t, std::int64_t> turns_; ///< of the main program
  std::unordered_set<std::uint32_t> refused_;
  std::string text_;
  text::Line const* line_ = nullptr;

  struct Run; ///< visits the flow words

  /// No line follows: false.
  bool stop();
  Outcome refuse(text::Span span, std::string code, std::string message, std::string hint);
  Outcome refuse(grammar::ParseError const& error);
  std::uint32_t here() const { return line_->place.line; }

  /// These lines of the main program belong together; nothing when the line in work is none of its lines.
  void keep_together(std::uint32_t first, std::uint32_t last);
  void note_transfer(std::uint32_t line);

  Outcome begin(Call call, text::Span span);
  void set_arguments(Call const& call);
  void end_call();
  Outcome jump(std::int64_t number, LineIndex::Section section, text::Span span);
  Outcome find_line(std::int64_t number, LineIndex::Section section, text::Span span, std::uint32_t& line);
  Outcome go_to(grammar::ast::Operand const& target, text::Span span);
  std::optional<std::int64_t> whole(grammar::ast::Operand const& value, text::Span span,
                                    std::string_view what);
  std::optional<bool> is_true(grammar::ast::Expression const& condition);

  Outcome run_setting(grammar::ast::Setting const& setting);
  Outcome run_while(grammar::ast::While const& loop);
  Outcome run_loop(grammar::ast::Loop const& loop);
  Outcome loop_end(std::int64_t number, text::Span span);
  Outcome run_label(grammar::ast::OWord const& word);

  // labels.cpp
  using Labels = std::vector<LineIndex::Label>;
  LineIndex::Label const* after(Labels const& labels,
                                std::initializer_list<grammar::ast::OKeyword> keywords) const;
  LineIndex::Label const* before(Labels const& labels,
                                 std::initializer_list<grammar::ast::OKeyword> keywords) const;
  Outcome unmatched(grammar::ast::OWord const& word, std::string_view partner);
  Outcome call_label(grammar::ast::OWord const& word, std::string const& name, Labels const& labels);
  Outcome branch(grammar::ast::OWord const& word, Labels const& labels);
  Outcome turn(grammar::ast::OWord const& word, Labels const& labels);
  Outcome leave_loop(grammar::ast::OWord const& word, Labels const& labels);
  std::map<std::uint32_t, std::int64_t>& turns() { return calls_.empty() ? turns_ : calls_.back().turns; }
};

} // namespace restep::interpret
