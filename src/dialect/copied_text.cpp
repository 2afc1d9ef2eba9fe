#include "dialect/copied_text.hpp"

namespace restep::dialect {

void CopiedText::append(std::string_view text) {
  if (text.empty()) return;
  at_line_start_ = text.back() == '\n' || text.back() == '\r';
  empty_ = false;
  if (text.size() >= piece / 4) {
    flush();
    sink_(text);
    return;
  }
  waiting_ += text;
  if (waiting_.size() >= piece) flush();
}

void CopiedText::flush() {
  if (!waiting_.empty()) sink_(waiting_);
  waiting_.clear();
}

void CopiedText::open(text::Place first, text::Place last) {
  close(last);
  if (!at_line_start_) append(line_end_);
  open_ = true;
  // A byte-order mark stands before the first block only.
  begin_ = empty_ && first.line == 1 ? 0 : first.offset;
}

void CopiedText::close(text::Place last) {
  if (!open_) return;
  open_ = false;
  std::uint64_t const end = last.offset + last.length;
  auto const line_end = line_end_behind(last);
  while (end - begin_ > 2 * piece) // lines of a passage that were never executed
    hand_on(begin_ + piece);
  source_.fill_to(end + line_end.size());
  append(source_.view(begin_, end + line_end.size()));
  done_before(end + line_end.size());
}

void CopiedText::put(std::string_view line, text::Place last) {
  close(last);
  if (!at_line_start_) append(line_end_);
  append(line);
}

/// Hands on the open stretch up to the beginning of a block.
void CopiedText::hand_on(std::uint64_t end) {
  source_.fill_to(end);
  append(source_.view(begin_, end));
  begin_ = end;
  give_back(end);
}

void CopiedText::done_before(std::uint64_t offset) {
  if (!open_ && offset >= given_back_ + piece) give_back(offset);
}

void CopiedText::give_back(std::uint64_t offset) {
  if (offset <= given_back_) return;
  source_.release_before(offset);
  given_back_ = offset;
}

std::string CopiedText::text_of(text::Place place) {
  std::uint64_t const end = place.offset + place.length;
  if (place.offset >= given_back_ && source_.fill_to(end))
    return std::string(source_.view(place.offset, end));
  return source_.text_of(place);
}

bool CopiedText::look_ahead(text::Place place) {
  std::uint64_t const end = place.offset + place.length;
  if (place.offset < given_back_) return is_literal(source_.text_of(place));
  std::uint64_t const stride = std::min(std::max(end, place.offset + piece), source_.size());
  if (!source_.fill_to(stride)) return false;
  auto const text = source_.view(place.offset, stride);
  literal_from_ = place.offset;
  literal_to_ = place.offset + std::min(text.find('#'), std::min(text.find('['), text.size()));
  return end <= literal_to_;
}

std::string_view CopiedText::line_end_behind(text::Place place) {
  std::uint64_t const at = place.offset + place.length;
  if (at < given_back_) return line_end_;
  source_.fill_to(at + 2);
  std::string_view const behind = source_.view(at, std::min(at + 2, source_.size()));
  if (behind.starts_with("\r\n")) return "\r\n";
  if (behind.starts_with('\n')) return "\n";
  if (behind.starts_with('\r')) return "\r";
  return {};
}

} // namespace restep::dialect
