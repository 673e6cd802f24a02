"""The door for programs and notebooks: what `import woold` gives, in terms of text with units."""
