"""How the demo's garments are cut: fields round a body, their surfaces, seams, hems and panels."""
