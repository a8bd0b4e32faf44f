#include "postproc/pdf_figure.hpp"

#include <fmt/format.h>

#include <cairo-ft.h>
#include <cairo-pdf.h>
#include <cairo.h>

#include <memory>
#include <new>
#include <numbers>
#include <stdexcept>

#include "postproc/font.hpp"

namespace torsowave::postproc {
namespace {

constexpr double points_per_inch = 72.0;  // ISO 32000-1, 8.3.2.3
constexpr double pixels_per_inch = 96.0;

struct Destroy {
  void operator()(cairo_surface_t* surface) const { cairo_surface_destroy(surface); }
  void operator()(cairo_t* context) const { cairo_destroy(context); }
  void operator()(cairo_font_face_t* face) const { cairo_font_face_destroy(face); }
  void operator()(cairo_font_options_t* options) const
  {
    cairo_font_options_destroy(options);
  }
};
template <class T>
using Owned = std::unique_ptr<T, Destroy>;

void require(cairo_status_t status)
{
  if (status == CAIRO_STATUS_NO_MEMORY) {
    throw std::bad_alloc();
  }
  if (status != CAIRO_STATUS_SUCCESS) {
    throw std::runtime_error(fmt::format("the figure cannot be drawn as PDF: {}",
                                         cairo_status_to_string(status)));
  }
}

/// A font of FreeType. Cairo keeps faces for a while after their last use, so that they
/// own what they need.
class LoadedFont {
public:
  /// \throws FontError
  explicit LoadedFont(const std::filesystem::path& file)
  {
    if (FT_Init_FreeType(&library_) != 0) {
      throw FontError("FreeType does not start");
    }
    if (FT_New_Face(library_, file.c_str(), 0, &face_) != 0) {
      FT_Done_FreeType(library_);
      throw FontError(fmt::format("FreeType cannot load the font {}", file.string()));
    }
  }
  ~LoadedFont()
  {
    FT_Done_Face(face_);
    FT_Done_FreeType(library_);
  }
  LoadedFont(const LoadedFont&) = delete;
  LoadedFont& operator=(const LoadedFont&) = delete;

  [[nodiscard]] FT_Face face() const noexcept { return face_; }

private:
  FT_Library library_ = nullptr;
  FT_Face face_ = nullptr;
};

[[nodiscard]] Owned<cairo_font_face_t> face_of(const std::filesystem::path& file)
{
  static const cairo_user_data_key_t key{};
  auto font = std::make_unique<LoadedFont>(file);
  Owned<cairo_font_face_t> face(cairo_ft_font_face_create_for_ft_face(font->face(), 0));
  require(cairo_font_face_status(face.get()));
  require(cairo_font_face_set_user_data(face.get(), &key, font.get(), [](void* owned) {
    delete static_cast<LoadedFont*>(owned);
  }));
  static_cast<void>(font.release());  // the face deletes it
  return face;
}

class PdfDrawing final : public Drawing {
public:
  PdfDrawing(const Box& page, const Theme& theme, cairo_t* context)
      : Drawing(page, theme), context_(context)
  {
    cairo_set_line_cap(context, CAIRO_LINE_CAP_ROUND);
    cairo_set_line_join(context, CAIRO_LINE_JOIN_ROUND);
    const Owned<cairo_font_face_t> face = face_of(find_font_file());
    cairo_set_font_face(context, face.get());
    const Owned<cairo_font_options_t> options(cairo_font_options_create());
    cairo_font_options_set_hint_style(options.get(), CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_hint_metrics(options.get(), CAIRO_HINT_METRICS_OFF);
    cairo_set_font_options(context, options.get());
  }

private:
  void draw_box(const Box& box, Color color, double alpha) override
  {
    use(color, alpha);
    cairo_rectangle(context_, box.left, box.top, box.width, box.height);
    cairo_fill(context_);
  }

  void draw_segment(Point from, Point to, double thickness, Color color) override
  {
    draw_stroke({{{from, to}}, thickness, color, {}, {}});
  }

  void draw_stroke(const Stroke& stroke) override
  {
    cairo_save(context_);
    clip(stroke.clip);
    use(stroke.color);
    cairo_set_line_width(context_, stroke.thickness);
    if (stroke.dash) {
      cairo_set_dash(context_, stroke.dash->data(), static_cast<int>(stroke.dash->size()),
                     0.0);
    }
    for (const std::vector<Point>& line : stroke.lines) {
      cairo_new_sub_path(context_);
      for (std::size_t n = 0; n < line.size() && line.size() > 1; ++n) {
        cairo_line_to(context_, line[n].x, line[n].y);
      }
    }
    cairo_stroke(context_);
    cairo_restore(context_);
  }

  void draw_dots(const Dots& dots) override
  {
    cairo_save(context_);
    clip(dots.clip);
    use(dots.color);
    for (const Point& center : dots.centers) {
      cairo_new_sub_path(context_);
      cairo_arc(context_, center.x, center.y, dots.radius, 0.0, 2.0 * std::numbers::pi);
    }
    cairo_fill(context_);
    cairo_restore(context_);
  }

  void draw_text(const Font& font, std::string_view line, Point anchor,
                 const TextStyle& style) override
  {
    constexpr double rim = 4.0;
    const std::string text(line);
    cairo_save(context_);
    cairo_set_font_size(context_, font.em_size(style.size));
    cairo_translate(context_, anchor.x, anchor.y);
    if (style.direction == Direction::up) {
      cairo_rotate(context_, -0.5 * std::numbers::pi);
    }
    const double begin = start_of(text, style.align);
    if (style.halo) {
      use(*style.halo);
      cairo_move_to(context_, begin, 0.0);
      cairo_text_path(context_, text.c_str());
      cairo_set_line_width(context_, rim);
      cairo_stroke(context_);
    }
    use(style.color);
    cairo_move_to(context_, begin, 0.0);
    cairo_show_text(context_, text.c_str());
    cairo_restore(context_);
  }

  /// Where the pen starts, from the anchor.
  [[nodiscard]] double start_of(const std::string& text, Align align) const
  {
    cairo_text_extents_t extents{};
    cairo_text_extents(context_, text.c_str(), &extents);
    return align == Align::start    ? 0.0
           : align == Align::center ? -0.5 * extents.x_advance
                                    : -extents.x_advance;
  }

  void clip(const std::optional<Box>& box) const
  {
    if (box) {
      cairo_rectangle(context_, box->left, box->top, box->width, box->height);
      cairo_clip(context_);
    }
  }

  void use(Color color, double alpha = 1.0) const
  {
    constexpr double full = 255.0;
    cairo_set_source_rgba(context_, color.red / full, color.green / full,
                          color.blue / full, alpha);
  }

  cairo_t* context_;
};

/// Appends what cairo writes to a std::string.
cairo_status_t append(void* bytes, const unsigned char* data,
                      unsigned int length) noexcept
{
  try {
    static_cast<std::string*>(bytes)->append(reinterpret_cast<const char*>(data), length);
  } catch (const std::bad_alloc&) {
    return CAIRO_STATUS_NO_MEMORY;
  }
  return CAIRO_STATUS_SUCCESS;
}

}  // namespace

std::string as_pdf(const VectorFigure& figure, const Look& look)
{
  const Box& shown = look.core_only ? figure.core : figure.page;
  const double pixels = look.width > 0 ? look.width : shown.width;
  const double factor = points_per_inch * pixels / shown.width /
                        (look.dots_per_inch > 0.0 ? look.dots_per_inch : pixels_per_inch);
  std::string bytes;
  const Owned<cairo_surface_t> surface(cairo_pdf_surface_create_for_stream(
      append, &bytes, factor * shown.width, factor * shown.height));
  require(cairo_surface_status(surface.get()));
  cairo_pdf_surface_set_metadata(surface.get(), CAIRO_PDF_METADATA_TITLE,
                                 figure.title.c_str());
  cairo_pdf_surface_set_metadata(surface.get(), CAIRO_PDF_METADATA_CREATOR, "torsowave");
  {
    const Owned<cairo_t> context(cairo_create(surface.get()));
    cairo_scale(context.get(), factor, factor);
    cairo_translate(context.get(), -shown.left, -shown.top);
    PdfDrawing drawing(figure.page, look.theme, context.get());
    drawing.fill(shown, look.theme.paper);
    figure.draw(drawing);
    require(cairo_status(context.get()));
  }
  cairo_surface_finish(surface.get());
  require(cairo_surface_status(surface.get()));
  return bytes;
}

}  // namespace torsowave::postproc
