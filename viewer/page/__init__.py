"""The page for a phone: one HTML file for the ladder, without signal."""

from barnloom.viewer.page.page import page_html as page_html
